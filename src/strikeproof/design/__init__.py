"""Search for the next prototype within the room, budget and strength of a brief."""
