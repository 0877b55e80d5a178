"""The pages, one module each with one function `register(site)`."""
