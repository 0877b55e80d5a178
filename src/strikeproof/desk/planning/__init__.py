"""From a campaign to its run sheet: planned, planned on, checked against the bolt, printed."""
