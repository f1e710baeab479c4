"""The insect screen: what it keeps out, what its mesh is, and what a film of water does to it."""
