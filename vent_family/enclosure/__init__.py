"""A vent in an enclosure: what it asks of the wall, how it is placed, held and listed."""
