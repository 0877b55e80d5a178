"""The runs that a workspace holds: examined, judged with flags, listed, looked at, excluded."""
