"""Catalogue layer: text of the file to typed rows."""
