"""Triangle meshes and their plane sections; nothing here knows of vents or files."""
