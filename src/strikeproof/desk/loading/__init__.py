"""Runs into a workspace: a folder, an archive, one log again, the sound beside a run."""
