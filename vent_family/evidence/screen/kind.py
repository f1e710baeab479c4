"""The insect screen as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.base.limits import GAP_MIN
from vent_family.evidence.air.drive import drive_of
from vent_family.evidence.facts import facts_table
from vent_family.evidence.kind import Kind
from vent_family.evidence.screen.record import ScreenRecord, ScreenSection
from vent_family.evidence.solid.record import mass_g
from vent_family.spec.screen import Mesh

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class InsectScreen(Kind[ScreenSection]):
    """What the mesh is, what it weighs with its frame, and whether water on it closes it."""

    name = "screen"
    section = ""
    record_type = ScreenSection
    heading = "Insect screen"

    def compute(self, context: PartContext) -> ScreenSection:
        """Return the screen of a part, if it has one."""
        spec, solid = context.spec, context.solids.screen_frame
        screen = spec.body.screen
        if screen is None or solid is None:
            return ScreenSection(screen=None)
        fan = drive_of(spec).fan
        fan_pa = None if fan is None else float(fan.shut_off_pa)
        volume = context.mass(solid).volume_mm3
        return ScreenSection(
            screen=ScreenRecord(
                opening_mm=screen.mesh.opening_mm,
                wire_mm=screen.mesh.wire_mm,
                open_share=screen.mesh.open_share,
                window_mm2=screen.window_mm2(spec.section, spec.bays),
                sheet=screen.sheet_words(spec.section),
                held_by=screen.frame_words,
                frame_volume_mm3=volume,
                frame_mass_g=mass_g(spec, volume),
                film_pa=screen.mesh.film_pa,
                fan_pa=fan_pa,
                film=film_words(screen.mesh, fan_pa),
            )
        )

    def record(self, context: PartContext) -> ScreenSection:
        """Return the screen."""
        return context.of(self)

    def sentences(self, context: PartContext) -> list[str]:
        """Return mesh, frame and what water does to it."""
        found = context.of(self).screen
        if found is None:
            return []
        return [
            f"Insect screen: woven mesh of {found.opening_mm:g} mm openings and {found.wire_mm:g}"
            f" mm wire, {100.0 * found.open_share:.0f} % open, bought and cut to size"
            f" ({found.sheet}; not in the price), in a {found.held_by}. {found.film}."
        ]

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of its facts, nothing for a part without a screen."""
        found = context.of(self).screen
        return [] if found is None else facts_table(found)


def film_words(mesh: Mesh, fan_pa: float | None) -> str:
    """Return whether water that reaches a mesh closes it.

    Parameters
    ----------
    mesh
        The mesh.
    fan_pa
        Pressure of the fan at shut-off, Pa; ``None`` where none is known.

    Examples
    --------
    >>> film_words(Mesh(1.0, 0.28), 52.0)
    'A wet opening stays closed up to 291 Pa, which the fan does not give (52 Pa): dry it in place'
    >>> film_words(Mesh(3.0, 0.5), None)
    'Its openings are too wide for a film of water to last'
    """
    if mesh.opening_mm >= GAP_MIN.value:
        return "Its openings are too wide for a film of water to last"
    closed = f"A wet opening stays closed up to {mesh.film_pa:.0f} Pa"
    if fan_pa is None:
        return f"{closed}: keep it where no water gets, or dry it"
    if fan_pa < mesh.film_pa:
        return f"{closed}, which the fan does not give ({fan_pa:.0f} Pa): dry it in place"
    return f"{closed}; the fan at shut-off ({fan_pa:.0f} Pa) blows it free"


SCREEN = InsectScreen()
"""The insect screen."""
