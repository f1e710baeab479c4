"""Writers and readers of file formats; nothing here knows of vents."""
