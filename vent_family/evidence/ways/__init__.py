"""The two ways to print a row, each as its own design."""
