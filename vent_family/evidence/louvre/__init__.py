"""How a vent would be classed as a louvre: effectiveness, discharge, free area."""
