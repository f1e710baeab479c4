"""Straight rays shot at the fitted assembly of a released part, from its STEP file alone."""
