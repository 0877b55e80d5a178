"""The simulated bench: read from its file, hammering a run or a sweep, drawn, or speaking as a rig."""
