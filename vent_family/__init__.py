"""Catalogue-driven family of 3D-printed vent inserts for electrical cabinets.

``register`` adds calls to CadQuery; ``Parts`` gives the parts of a catalogue as plain shapes, made
when asked for, ``Library`` those of a published library, as they were released. They are loaded on
first use, so that importing the package does not load the CAD kernel.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from vent_family.base.version import VERSION as __version__

if TYPE_CHECKING:
    from vent_family.enclosure.bill import bill_of_materials
    from vent_family.enclosure.cabinet import Enclosure, enclosure_of
    from vent_family.enclosure.export import export_assembly
    from vent_family.enclosure.fitting import cut_for, fitted
    from vent_family.enclosure.library import Library
    from vent_family.front.parts import Parts
    from vent_family.front.plugin import assembly, register

__all__ = [
    "Enclosure",
    "Library",
    "Parts",
    "__version__",
    "assembly",
    "bill_of_materials",
    "cut_for",
    "enclosure_of",
    "export_assembly",
    "fitted",
    "register",
]

_HOMES = {
    "Enclosure": "enclosure.cabinet",
    "Library": "enclosure.library",
    "Parts": "front.parts",
    "assembly": "front.plugin",
    "bill_of_materials": "enclosure.bill",
    "cut_for": "enclosure.fitting",
    "enclosure_of": "enclosure.cabinet",
    "export_assembly": "enclosure.export",
    "fitted": "enclosure.fitting",
    "register": "front.plugin",
}
"""Where the package's names are at home."""

if not TYPE_CHECKING:  # A type checker would take it for a promise of any name.

    def __getattr__(name: str) -> Any:
        """Return a name of the package, whose module is loaded when the first one is asked for.

        Raises
        ------
        AttributeError
            if the package offers no such name
        """
        if name in _HOMES:
            return getattr(import_module(f"vent_family.{_HOMES[name]}"), name)
        raise AttributeError(f"module 'vent_family' has no attribute {name!r}")
