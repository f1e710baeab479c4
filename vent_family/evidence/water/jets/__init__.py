"""A coherent jet of water as sheets that split, run along faces, leave edges and strike again."""
