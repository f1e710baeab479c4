"""Catalogue-driven family of 3D-printed vent inserts for electrical cabinets.

``register`` adds the two Workplane calls; ``Parts`` gives the same parts as plain shapes, and
``export_assembly`` writes a whole cabinet with all that is known of what it holds. They are loaded
on first use, so that importing the package does not load the CAD kernel.
"""

from typing import TYPE_CHECKING, Any

from vent_family.base.version import VERSION as __version__

if TYPE_CHECKING:
    from vent_family.enclosure.export import export_assembly
    from vent_family.front.parts import Parts
    from vent_family.front.plugin import assembly, register

__all__ = ["Parts", "__version__", "assembly", "export_assembly", "register"]


if not TYPE_CHECKING:  # A type checker would take it for a promise of any name.

    def __getattr__(name: str) -> Any:
        """Return a name of the plugin, which is loaded when the first one is asked for.

        Raises
        ------
        AttributeError
            if the package offers no such name
        """
        if name == "Parts":
            from vent_family.front.parts import Parts

            return Parts
        if name == "export_assembly":
            from vent_family.enclosure.export import export_assembly

            return export_assembly
        if name in ("assembly", "register"):
            from vent_family.front import plugin

            return getattr(plugin, name)
        raise AttributeError(f"module 'vent_family' has no attribute {name!r}")
