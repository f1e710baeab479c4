"""Rules between the columns of an insect screen, and the screen that follows from them."""

from __future__ import annotations

from collections.abc import Sequence

from vent_family.base.limits import SCREEN_OPEN_MIN, SCREEN_WINDOW_MIN
from vent_family.catalog.columns import COLUMNS
from vent_family.spec.changes import on_step
from vent_family.spec.refusals import Refusals
from vent_family.spec.screen import Mesh, SlideScreen, usual_wire_mm


def woven_mesh(opening_mm: float | None, wire_mm: float | None, refusals: Refusals) -> Mesh | None:
    """Return the mesh of a row, or ``None`` for a row without a screen.

    Parameters
    ----------
    opening_mm, wire_mm
        The row's cells, mm; a blank wire is that of a usual mesh.
    refusals
        Where problems are noted: a wire without a screen, or so thick that little is left open.
    """
    if opening_mm is None:
        if wire_mm is not None:
            refusals.refuse(
                "screen.wire.idle",
                "screen_wire_mm",
                "a wire is given, and no screen",
                guesses=({"screen_wire_mm": None}, {"screen_mm": 1.0}),
            )
        return None
    mesh = Mesh(opening_mm, usual_wire_mm(opening_mm) if wire_mm is None else wire_mm)
    if mesh.open_share < SCREEN_OPEN_MIN.value:
        thickest = opening_mm * (SCREEN_OPEN_MIN.value**-0.5 - 1.0)
        refusals.refuse(
            "screen.mesh.closed",
            "screen_wire_mm",
            f"wires of {mesh.wire_mm:g} mm leave {100.0 * mesh.open_share:.0f} % of a mesh of"
            f" {opening_mm:g} mm open",
            allowed=f"{100.0 * SCREEN_OPEN_MIN.value:g} % or more",
            guesses=(
                {"screen_wire_mm": None},
                {"screen_wire_mm": on_step(COLUMNS["screen_wire_mm"], thickest, upwards=False)},
            ),
            columns=("screen_mm",),
            lack=SCREEN_OPEN_MIN.value - mesh.open_share,
        )
    return mesh


def screen_behind_fan(mesh: Mesh | None, refusals: Refusals) -> None:
    """Refuse a screen where a fan's duct takes its place behind the block."""
    if mesh is not None:
        refusals.refuse(
            "screen.fan.both",
            "screen_mm",
            "a fan's mount takes the place of the screen behind the vent",
            guesses=({"screen_mm": None, "screen_wire_mm": None}, {"fan_mount": None}),
        )


def sliding(
    mesh: Mesh | None,
    body_mm: tuple[float, float],
    inner_z_mm: float,
    bays: Sequence[tuple[float, float]],
    refusals: Refusals,
) -> SlideScreen | None:
    """Return the screen of a block of width and height ``body_mm``; mm.

    ``bays`` are clear x ranges, mm. An outermost bay that the frame's side covers but for a strip
    is refused.
    """
    if mesh is None:
        return None
    screen = SlideScreen(mesh, body_mm[0] / 2.0, body_mm[1] / 2.0, inner_z_mm)
    left = min(screen.clear_half_mm, bays[-1][1]) - bays[-1][0]
    if left < SCREEN_WINDOW_MIN.value:
        refusals.refuse(
            "screen.window.narrow",
            "screen_mm",
            f"the screen's frame leaves {max(left, 0.0):.1f} mm of the outermost bays open",
            allowed=f"{SCREEN_WINDOW_MIN.value:g} mm or more",
            guesses=({"screen_wire_mm": None}, {"rib_count": None}),
            columns=("rib_count", "screen_wire_mm", "screen_mm", "size"),
            lack=SCREEN_WINDOW_MIN.value - left,
        )
    return screen
