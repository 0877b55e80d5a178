"""A folder of bundles as a library that needs no server."""
