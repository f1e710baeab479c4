"""A vent in any mounting: leaning, rolled, upside down, in a roof or a floor."""
