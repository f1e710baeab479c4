"""Geometry layer: specifications to exact solids; knows nothing of files."""
