"""Sheets for people and workshops, drawn from the exact part."""
