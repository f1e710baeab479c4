"""What comes off the printer: shrinkage and scatter, and whether fits still hold at their worst."""
