"""A plane free-surface solver for jets on slats; it shares no code with the water check."""
