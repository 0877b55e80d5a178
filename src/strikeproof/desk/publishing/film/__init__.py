"""A film over a person's own footage: gather its runs, find them in its sound, draw, write in parts, join."""
