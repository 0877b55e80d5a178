"""Readers of log files, and the live rig."""

from strikeproof.capture.log import Channel, Finding, Log, pick_channel, pick_name
from strikeproof.capture.reading import read_log

__all__ = ["Channel", "Finding", "Log", "pick_channel", "pick_name", "read_log"]
