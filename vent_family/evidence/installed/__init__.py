"""What a cabinet must offer a vent: opening, thickness of the wall, room in front and behind."""
