"""What a part costs: plates, machine time, material, labour, and the two other ways to make it."""
