"""What the design page is made of: the brief's form, the proposals, and an article in its place."""
