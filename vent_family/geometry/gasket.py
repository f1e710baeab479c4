"""Flat gaskets: a ring under the round head, a frame under a rectangular lip or flange.

Both lie on Z = 0 and reach to Z = thickness, centred on the Z axis. Lengths in mm.
"""

from __future__ import annotations

import math

import cadquery as cq

from vent_family.base.problems import InputError, Problem


def gasket(inner_mm: float, outer_mm: float, thickness_mm: float) -> cq.Solid:
    """Return a flat ring between two diameters, lengths in mm.

    Raises
    ------
    InputError
        if the ring has no width or no thickness
    """
    _check("gasket ring", (("diameter", inner_mm, outer_mm),), thickness_mm)
    outer, inner = (
        cq.Wire.makeCircle(diameter / 2.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
        for diameter in (outer_mm, inner_mm)
    )
    return cq.Solid.extrudeLinear(outer, [inner], cq.Vector(0, 0, thickness_mm))


def frame_gasket(
    outer_width_mm: float,
    outer_height_mm: float,
    inner_width_mm: float,
    inner_height_mm: float,
    thickness_mm: float,
) -> cq.Solid:
    """Return a flat rectangular frame, width along X, height along Y.

    Raises
    ------
    InputError
        if a side of the frame has no width, or the frame no thickness
    """
    _check(
        "gasket frame",
        (("width", inner_width_mm, outer_width_mm), ("height", inner_height_mm, outer_height_mm)),
        thickness_mm,
    )
    outer, inner = (
        cq.Wire.makePolygon(
            [
                cq.Vector(x * width / 2.0, y * height / 2.0, 0)
                for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ],
            close=True,
        )
        for width, height in (
            (outer_width_mm, outer_height_mm),
            (inner_width_mm, inner_height_mm),
        )
    )
    return cq.Solid.extrudeLinear(outer, [inner], cq.Vector(0, 0, thickness_mm))


def _check(what: str, spans: tuple[tuple[str, float, float], ...], thickness_mm: float) -> None:
    problems = [
        Problem(
            "gasket.width.none",
            f"the {what} has no width: its inner {name} must be less than its outer one",
            value=f"{inner:g} inside {outer:g} mm",
            allowed=f"0 < inner {name} < outer {name}",
        )
        for name, inner, outer in spans
        if not (0.0 < inner < outer < math.inf)
    ]
    if not 0.0 < thickness_mm < math.inf:
        problems.append(
            Problem(
                "gasket.thickness.none",
                f"the {what} has no thickness",
                value=f"{thickness_mm:g} mm",
                allowed="more than 0 mm",
            )
        )
    if problems:
        raise InputError(problems)
