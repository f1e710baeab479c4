"""Is the solid honest: valid, watertight, of the volume it should have."""
