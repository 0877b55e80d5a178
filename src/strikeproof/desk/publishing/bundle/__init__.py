"""A bundle of one campaign that anybody can compute again, and the computing again."""
