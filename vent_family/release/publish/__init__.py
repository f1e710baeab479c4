"""A released library: what is rebuilt and why, generations, and their switch by one rename."""
