"""Release layer: files written from solids and evidence."""
