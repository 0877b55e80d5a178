"""The charts of a campaign, a module each; each can draw itself on a wide sheet or a narrow one."""
