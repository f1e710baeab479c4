"""How surely a vent holds what is asked of it, and what of the uncertain decides about it."""
