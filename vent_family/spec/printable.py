"""Rules between columns that printing makes: what the print check would find on the solid.

Each predicts, from the row and its layout alone, what the finished solid's print check refuses,
exactly or a hair on the safe side, and says it in terms of the columns.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from vent_family.base.limits import (
    FIT_CLEARANCE,
    LAYER_HEIGHT,
    LAYERS_VOLUME,
    MARK_CLEAR,
    PRINT_GAP_MIN,
    WALL_MIN,
)
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import Fixing
from vent_family.spec import defaults
from vent_family.spec.body import Body
from vent_family.spec.changes import Change, on_step
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section

_HAIR_MM: Final = 0.01
"""Added to a width that the mesh must keep, mm: its corners are rounded."""
_TIE_MM: Final = 1e-4
"""A face this near to where a layer is cut can fall on either side, mm."""
_SLATS_SHARE: Final = 2.0 / 3.0
"""Share of the layers' volume error that slats may use up; walls and recesses round, too."""


def mark_bar(row: FilledRow, refusals: Refusals, body: Body, ceiling_mm: float) -> None:
    """Refuse a bar above the front window too low for an arrow and plain face on both sides.

    Parameters
    ----------
    row
        The filled row.
    refusals
        Where the problem is noted.
    body
        The body; its cover ends the bar at the top.
    ceiling_mm : float
        Upper edge (y) of the front window, mm; it does not move with the cover's width.
    """
    bar = body.mark_bar_top_mm - ceiling_mm
    need = defaults.MARK_LEAST_MM + 2.0 * MARK_CLEAR.value
    lack = need - bar
    if lack <= 0.0:
        return
    column = body.cover.width_column
    value: float | None = getattr(row, column)
    guesses: list[Change] = []
    if value is not None:
        guesses = [{column: on_step(COLUMNS[column], value + lack, upwards=True)}]
    refusals.refuse(
        "mark.bar.low",
        column,
        f"the bar above the window is {bar:.1f} mm high: too low for the arrow that points up",
        allowed=f"a bar of {need:g} mm or more",
        guesses=guesses,
        columns=(column, "pitch_mm", "size"),
        lack=lack,
    )


def gap_over_snap_arms(row: FilledRow, refusals: Refusals) -> None:
    """Refuse a panel so thin that the snap arms' ends would print onto the lip."""
    least = PRINT_GAP_MIN.value + FIT_CLEARANCE.value + _HAIR_MM
    if row.panel_thickness_mm < least:
        refusals.refuse(
            "snap.panel.thin",
            "panel_thickness_mm",
            f"a panel of {row.panel_thickness_mm:g} mm leaves snap arms"
            f" {row.panel_thickness_mm - FIT_CLEARANCE.value:.2f} mm short of the lip: a gap so"
            " narrow prints shut",
            allowed=f"{least:g} mm or more with snap arms",
            guesses=({"fixing": "screw"},),
            columns=("panel_thickness_mm",),
        )


def lip_holds_gasket(
    row: FilledRow, refusals: Refusals, thickness_mm: float, fixing: Fixing
) -> None:
    """Refuse a gasket in a lip that cannot press it, or is too thin over its recess.

    ``thickness_mm`` is the lip's, mm.
    """
    if fixing == "snap":
        refusals.refuse(
            "gasket.snap.both",
            "seal",
            "snap arms do not press a gasket flush",
            guesses=({"seal": None}, {"fixing": "screw"}, {"fixing": None}),
        )
    if row.print_orientation == "upright":
        refusals.refuse(
            "gasket.print.upright",
            "seal",
            "the lip of a vent printed upright has no room for a gasket below the opening",
            guesses=({"print_orientation": None}, {"seal": None}),
            columns=("print_orientation", "fixing"),
        )
    least = defaults.GASKET_RECESS_MM + WALL_MIN.value
    if thickness_mm < least:
        refusals.refuse(
            "gasket.lip.thin",
            "lip_thickness_mm",
            f"a lip of {thickness_mm:g} mm leaves {thickness_mm - defaults.GASKET_RECESS_MM:.1f} mm"
            " over the gasket's recess",
            allowed=f"{least:g} mm or more with a gasket",
            guesses=({"lip_thickness_mm": least}, {"seal": None}),
            columns=("lip_thickness_mm",),
        )


def whole_layers(
    row: FilledRow,
    refusals: Refusals,
    body: Body,
    section: Section,
    bays: Sequence[tuple[float, float]],
) -> None:
    """Refuse plates lying on the bed whose rounding to whole layers shows in the part's volume.

    Parameters
    ----------
    row
        The filled row.
    refusals
        Where the problem is noted.
    body, section
        What was laid out.
    bays
        Clear range (x) of every bay, mm.
    """
    if row.print_orientation != "face_down":
        return
    plates = _plates(body, section, bays)
    error = max(abs(_rounding_mm3(plates, shift)) for shift in (-_TIE_MM, 0.0, _TIE_MM))
    bar = _SLATS_SHARE * LAYERS_VOLUME.value
    # What keeps to the bar against a part of the body does so against all of it, whose volume
    # takes longer to reckon.
    least = body.walls_mm3(section, bays)
    if error <= bar * least or error <= bar * (least + _slats_mm3(body, section, bays)):
        return
    share = error / body.volume_mm3(section, bays)
    if share <= bar:
        return
    layer, t = LAYER_HEIGHT.value, row.slat_thickness_mm
    count = math.ceil(t / layer - 1e-6)
    refusals.refuse(
        "printing.layers.broken",
        "slat_thickness_mm",
        f"slats of {t:g} mm print {abs(count * layer - t):.1f} mm too thick or too thin, all the"
        f" same way: {100.0 * share:.0f} % of the part's material",
        allowed=f"whole layers of {layer:g} mm, or gaps between banks that even it out",
        guesses=({"slat_thickness_mm": round(count * layer, 6)},),
        columns=("slat_thickness_mm", "bank_gaps_mm", "wall_mm"),
        lack=share,
    )


def _slats_mm3(body: Body, section: Section, bays: Sequence[tuple[float, float]]) -> float:
    """Return the least volume of whole slats, where they reach from rib to rib, mm3."""
    back = -math.inf if body.neck is None else body.neck.depths_mm[-1]
    total = 0.0
    for slat in section.slats:
        if not slat.whole or min(z for z, _ in slat.outline) < back:
            continue
        half = min(body.clear_half_width_mm(y) for _, y in slat.outline)
        across = sum(max(min(x1, half) - max(x0, -half), 0.0) for x0, x1 in bays)
        ring = pairwise((*slat.outline, slat.outline[0]))
        total += 0.5 * abs(sum(z0 * y1 - z1 * y0 for (z0, y0), (z1, y1) in ring)) * across
    return total


@dataclass(frozen=True, slots=True)
class _Plates:
    """Ends of slats, each with its area (mm2), signed, and depth (mm); and the layers' height."""

    faces: tuple[tuple[float, float], ...]
    layer_mm: float


def _plates(body: Body, section: Section, bays: Sequence[tuple[float, float]]) -> _Plates:
    """Return the faces at both ends of all slats over the bays (x, mm)."""
    front = section.front_z_mm
    inner = section.inner_z_mm if body.neck is None else 0.0
    height = front - (inner if body.fan_mount is None else body.fan_mount.duct(section).end_z_mm)
    layer = height / math.ceil(height / LAYER_HEIGHT.value - 1e-6)
    clear: dict[tuple[float, float], float] = {}
    faces = []
    for slat in section.slats:
        zs = [z for z, _ in slat.outline]
        for end, sense in ((min(zs), 1.0), (max(zs), -1.0)):
            # A slat that ends in a corner begins from nothing: nothing is rounded there.
            ys = [y for z, y in slat.outline if abs(z - end) < _TIE_MM]
            between = (min(ys), max(ys))
            if between not in clear:
                clear[between] = sum(body.clear_area_mm2(bay, between) for bay in bays)
            faces.append((sense * clear[between], front - end))
    return _Plates(tuple(faces), layer)


def _rounding_mm3(plates: _Plates, shift_mm: float) -> float:
    """Return what whole layers add to the plates among the slats, mm3.

    The layers are cut at half their height, all moved by ``shift_mm``.
    """
    layer, total = plates.layer_mm, 0.0
    for area, depth in plates.faces:
        rounded = math.ceil((depth + shift_mm) / layer - 0.5) * layer
        total += area * (rounded - depth)
    return total
