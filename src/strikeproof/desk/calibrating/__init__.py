"""Calibration readings entered and fitted, and what a reading of a rig is worth from then on."""
