"""What holds a fan behind the vent: which one, with which screws, how far from the slats."""
