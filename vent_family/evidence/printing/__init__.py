"""Print check: slices, supports, walls, orientations, time; measured on the finished mesh."""
