"""Programs that make or test the package's own data; run with ``python -m``."""
