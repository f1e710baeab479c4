"""Drawings on paper: lines, areas and lettering in mm, dimensions beside them; SVG and PDF."""
