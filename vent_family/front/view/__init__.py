"""Parts as they are shown: in a viewer, and as pictures."""
