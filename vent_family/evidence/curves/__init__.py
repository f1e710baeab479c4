"""What is known about a part, as coloured curves on its model."""
