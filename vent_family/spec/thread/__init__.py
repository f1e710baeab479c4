"""ISO metric threads: profiles and tolerances, and the parts that carry them."""
