"""A shelf of bundles: plain files that can be looked at without a server."""
