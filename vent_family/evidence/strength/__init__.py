"""Strength check: slats under a thumb, the neck under its locknut, snap arms; plain formulas."""
