"""Calibration fit, comparison, control of the rig, planning of runs."""
