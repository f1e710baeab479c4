"""Base: problems, limits, materials, shop rates, and writing files whole; imports nothing above."""
