"""Releases of a published library, every file checked before it is used, and pins on them."""
