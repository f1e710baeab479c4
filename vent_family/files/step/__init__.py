"""STEP AP242: written, read back, with user-defined attributes."""
