"""Lips and flanges: screws against the gasket, bearing under washers, a knock on the rim."""

from __future__ import annotations

import math
from collections.abc import Sequence

from vent_family.base.limits import (
    CREEP_LEFT,
    FIT_CLEARANCE,
    GASKET_EVEN,
    GASKET_PRESSURE,
    KNOCK_LOAD,
    SCREW_FACTOR,
    SCREW_TORQUE,
)
from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.necks import SHEAR
from vent_family.evidence.strength.places import circle
from vent_family.evidence.strength.shells import Shell, bending_share
from vent_family.spec import defaults
from vent_family.spec.body import GasketSpec, Hole
from vent_family.spec.families import filled_row
from vent_family.spec.vent import VentSpec


def cover_members(spec: VentSpec, shell: Shell) -> list[Member]:
    """Return all members of a cover: of a head on a neck none, of a lip or flange what it has."""
    body, found = spec.body, []
    if body.neck is None:
        found.append(body_under_knock(spec))
    holes, gasket = body.opening.holes, body.gasket
    if holes:
        found.append(washers(spec, holes))
        if gasket is not None:
            found += [squeeze(gasket, holes), flange_between_screws(spec, gasket, holes, shell)]
    return found


def screw_pull_n() -> float:
    """Return the pull of a screw tightened by screwdriver, N: T = K F d.

    Examples
    --------
    >>> round(screw_pull_n())  # 200 N mm per mm over 0.2
    1000
    """
    return SCREW_TORQUE.value / SCREW_FACTOR.value


def washers(spec: VentSpec, holes: Sequence[Hole]) -> Member:
    """Return the flange or lip under a screw's washer, at the pull of a screwdriver.

    It is compared with the tensile strength, which plastics exceed in compression; creep takes most
    of the pull away.
    """
    profile, diameter = spec.material.print_profile, holes[0].diameter_mm
    washer = washer_mm(holes[0])
    area = 0.25 * math.pi * (washer**2 - diameter**2)
    pressure = screw_pull_n() / area
    return Member(
        name="plastic under a washer",
        load=f"a screw's pull of {screw_pull_n():.0f} N on a washer of {washer:g} mm",
        stress=pressure,
        strength=profile.in_layer_mpa,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="F = T / (K d); p = 4 F / (pi (D^2 - h^2))",
        place=tuple(
            circle(washer / 2.0, spec.section.front_z_mm, (hole.x_mm, hole.y_mm)) for hole in holes
        ),
    )


def washer_mm(hole: Hole) -> float:
    """Return the diameter of the washer under a hole's screw, mm; twice the hole's if unknown."""
    return defaults.WASHER_MM.get(hole.screw, 2.0 * hole.diameter_mm)


def gasket_area_mm2(gasket: GasketSpec) -> float:
    """Return the area of a flat gasket, mm2.

    Examples
    --------
    >>> frame = GasketSpec(False, (100.0, 80.0), (108.0, 88.0), 2.0, 1.2)
    >>> gasket_area_mm2(frame)
    1504.0
    """
    outer, inner = gasket.outer_mm, gasket.inner_mm
    area = outer[0] * outer[1] - inner[0] * inner[1]
    return area * math.pi / 4.0 if gasket.is_ring else area


def squeeze(gasket: GasketSpec, holes: Sequence[Hole]) -> Member:
    """Return whether the screws' pull, once crept away, still squeezes the gasket flush."""
    needed = GASKET_PRESSURE.value * gasket_area_mm2(gasket) / len(holes)
    left = CREEP_LEFT.value * screw_pull_n()
    return Member(
        name="screws against the gasket",
        load=f"{GASKET_PRESSURE.value:g} MPa on {gasket_area_mm2(gasket):.0f} mm2, {len(holes)}"
        " screws",
        stress=needed,
        strength=left,
        unit="N",
        least=1.0,
        deflection_mm=None,
        formula="F = p A / n, against what creep leaves of T / (K d)",
    )


def longest_gap_mm(holes: Sequence[Hole]) -> float:
    """Return the longest distance between neighbouring screws along a side, mm.

    Examples
    --------
    >>> corners = [Hole(x, y, 4.5, "M4") for x in (-40.0, 40.0) for y in (-30.0, 30.0)]
    >>> longest_gap_mm(corners + [Hole(0.0, y, 4.5, "M4") for y in (30.0, -30.0)])
    60.0
    """
    gaps = []
    for hole in holes:
        for ahead in ("x_mm", "y_mm"):
            beside = "y_mm" if ahead == "x_mm" else "x_mm"
            here, line = getattr(hole, ahead), getattr(hole, beside)
            on = [getattr(h, ahead) for h in holes if abs(getattr(h, beside) - line) < 1e-6]
            after = [place for place in on if place > here + 1e-6]
            if after and _outermost(line, [getattr(h, beside) for h in holes]):
                gaps.append(min(after) - here)
    return max(gaps, default=0.0)


def _outermost(place: float, places: Sequence[float]) -> bool:
    return place < min(places) + 1e-6 or place > max(places) - 1e-6


def angle_inertia_mm4(width: float, thickness: float, depth: float, wall: float) -> float:
    """Return the second moment (mm4) of a flange with the wall that stands on its inner edge.

    Parameters
    ----------
    width, thickness
        of the flange, mm
    depth, wall
        depth of the body behind it and thickness of its wall, mm

    Examples
    --------
    A flange 10 x 2 mm on a wall 8 mm deep and 1 mm thick: areas 20 and 8 mm2, their middles 5 mm
    apart: 10 x 8 / 12 + 512 / 12 + 25 x 20 x 8 / 28 = 192.2 mm4:

    >>> round(angle_inertia_mm4(10.0, 2.0, 8.0, 1.0), 2)
    192.19
    """
    flange, web = width * thickness, depth * wall
    apart = (thickness + depth) / 2.0
    own = width * thickness**3 / 12.0 + wall * depth**3 / 12.0
    return own + apart**2 * flange * web / (flange + web)


def flange_between_screws(
    spec: VentSpec, gasket: GasketSpec, holes: Sequence[Hole], shell: Shell
) -> Member:
    """Return by how much a flange gives way between two screws, against the gasket's squeeze.

    The strip of flange along a side and the wall of the body on its inner edge bend as one angle
    over the screws, clamped there by the strips that go on: d = q L^4 / (384 E I) under the
    gasket's push q per length; the strip alone, d = q e^3 / (3 D), from the wall to the screws'
    line; creep leaves a share of the modulus. The far walls' help is left out.
    """
    profile, cover = spec.material.print_profile, spec.body.cover
    reach, opening = cover.reach_mm, spec.opening.size_mm
    width = min(reach[0] - opening[0] / 2.0, reach[3] - opening[1] / 2.0)
    thick = spec.section.front_z_mm
    depth = -spec.section.inner_z_mm
    wall = filled_row(spec.row).wall_mm
    modulus = CREEP_LEFT.value * profile.modulus_mpa
    push = GASKET_PRESSURE.value * (gasket.outer_mm[0] - gasket.inner_mm[0]) / 2.0
    span = longest_gap_mm(holes)
    along = push * span**4 / (384.0 * modulus * angle_inertia_mm4(width, thick, depth, wall))
    arm = max(h.x_mm for h in holes) - opening[0] / 2.0 + FIT_CLEARANCE.value + wall / 2.0
    plate = (
        modulus
        * thick**3
        * bending_share(thick, shell.flat_mm)
        / (12.0 - 12.0 * profile.poisson**2)
    )
    way = along + push * arm**3 / (3.0 * plate)
    allowed = GASKET_EVEN.value * (gasket.thickness_mm - gasket.recess_mm)
    return Member(
        name="flange between its screws",
        load=f"{push:.2f} N/mm of gasket over {span:.0f} mm between screws, crept",
        stress=way,
        strength=allowed,
        unit="mm",
        least=1.0,
        deflection_mm=way,
        formula="d = q L^4 / (384 E I) + q e^3 / (3 D), a quarter of the squeeze allowed",
    )


def body_under_knock(spec: VentSpec) -> Member:
    """Return the body behind a lip or flange while something knocks sideways on its rim.

    The rim stands proud by its own thickness. Walls and ribs that lie along the knock carry it in
    shear, t = 1.5 F / A, and their outermost fibres its moment, across the layers of a part printed
    face down; snap arms, slats, floor and ceiling do not count.
    """
    profile, section = spec.material.print_profile, spec.section
    height = section.ceiling_mm - section.floor_inner_mm
    upright = filled_row(spec.row).wall_mm * 2.0 + spec.rib_count * spec.rib_thickness_mm
    area = upright * height
    shear = 1.5 * KNOCK_LOAD.value / area
    bend = 6.0 * KNOCK_LOAD.value * section.front_z_mm / (upright * height**2)
    stress = bend / 2.0 + math.hypot(bend / 2.0, shear)
    return Member(
        name="body under a knock on the rim",
        load=f"{KNOCK_LOAD.value:g} N along the panel, {section.front_z_mm:g} mm proud of it",
        stress=stress,
        strength=SHEAR * profile.across_layer_mpa,
        unit="MPa",
        least=profile.safety_min,
        deflection_mm=None,
        formula="t = 1.5 F / A, s = 6 F z / (b h^2); s1 = s / 2 + sqrt(s^2 / 4 + t^2)",
    )
