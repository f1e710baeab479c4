"""Jets of water as sheets."""
