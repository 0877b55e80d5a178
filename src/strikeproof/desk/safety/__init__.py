"""What a bolt withstands, what the supply must be, and the cautions that belong to both."""
