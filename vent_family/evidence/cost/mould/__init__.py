"""Moulding as another way to make a part: undercuts, pieces, tools, cycles."""
