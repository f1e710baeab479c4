"""Catalogue-driven family of 3D-printed vent inserts for electrical cabinets."""

from vent_family.version import VERSION as __version__

__all__ = ["__version__"]
