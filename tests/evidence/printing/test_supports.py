"""Tables, stairs, arches and slopes: shapes whose bridges and overhangs have exact answers."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from tests.helpers.print_shapes import box, findings, fused, prism
from vent_family.evidence.printing.bridges import SupportRules
from vent_family.evidence.printing.supports import (
    NEEDS_SUPPORT,
    Finding,
    longest,
)
from vent_family.geometry.primitives import one_solid


def kinds(found: list[Finding]) -> set[str]:
    return {f.kind for f in found}


def table(span: float, depth: float = 8.0) -> cq.Solid:
    """A slab on two walls, the clear span between them along x."""
    return fused(
        box((-3, 0), (0, depth), (0, 10)),
        box((span, span + 3), (0, depth), (0, 10)),
        box((-3, span + 3), (0, depth), (10, 12)),
    )


@pytest.mark.parametrize("span", [2.0, 7.3, 20.0, 60.0])
def test_table_on_two_walls_is_one_bridge_of_its_clear_span(span: float) -> None:
    (found,) = findings(table(span))
    assert found.kind == "bridge"
    assert found.span_mm == pytest.approx(span, abs=0.01)
    assert found.direction_deg == pytest.approx(0.0, abs=0.5)
    assert found.z_mm == pytest.approx(10.0, abs=0.01)


def test_turned_table_bridges_in_the_turned_direction() -> None:
    turned = table(12.0).rotate(cq.Vector(), cq.Vector(0, 0, 1), 35.0)
    (found,) = findings(turned)
    assert found.kind == "bridge"
    assert found.span_mm == pytest.approx(12.0, abs=0.02)
    assert found.direction_deg == pytest.approx(35.0, abs=0.5)


def test_lid_on_four_walls_bridges_the_short_way() -> None:
    outer = box((0, 40), (0, 22), (0, 12))
    (found,) = findings(one_solid(outer.cut(box((5, 35), (5, 17), (0, 10)))))
    assert found.kind == "bridge"
    assert found.span_mm == pytest.approx(12.0, abs=0.01)
    assert found.direction_deg == pytest.approx(90.0, abs=0.5)


def test_lid_on_a_round_wall_bridges_the_diameter() -> None:
    hollow = cq.Solid.makeCylinder(12.0, 12.0).cut(cq.Solid.makeCylinder(9.0, 10.0))
    (found,) = findings(one_solid(hollow))
    assert found.kind == "bridge"
    assert found.span_mm == pytest.approx(18.0, rel=0.01)


def test_shelf_on_one_wall_hangs_out_by_its_length() -> None:
    shelf = fused(box((0, 3), (0, 8), (0, 12)), box((3, 7), (0, 8), (10, 12)))
    (found,) = findings(shelf)
    assert found.kind == "overhang"
    assert found.reach_mm == pytest.approx(4.0, abs=0.01)
    assert found.area_mm2 == pytest.approx(8.0 * 4.0, rel=0.07)


def test_slab_on_a_pillar_hangs_out_all_round() -> None:
    mushroom = fused(cq.Solid.makeCylinder(3.0, 10.0), cq.Solid.makeCylinder(8.0, 2.0, (0, 0, 10)))
    (found,) = findings(mushroom)
    assert found.kind == "overhang"
    assert found.reach_mm == pytest.approx(5.0, abs=0.02)


def test_slab_on_four_legs_is_no_bridge() -> None:
    legs = [box((x, x + 2), (y, y + 2), (0, 10)) for x in (0, 18) for y in (0, 18)]
    found = findings(fused(*legs, box((0, 20), (0, 20), (10, 12))))
    assert kinds(found) == {"overhang"}


def test_hook_starts_in_mid_air() -> None:
    hook = fused(
        box((0, 3), (0, 5), (0, 20)),
        box((0, 10), (0, 5), (18, 20)),
        box((8, 10), (0, 5), (10, 20)),
    )
    found = findings(hook)
    floating = [f for f in found if f.kind == "floating"]
    assert [f.z_mm for f in floating] == pytest.approx([10.0], abs=0.01)
    assert floating[0].area_mm2 == pytest.approx(10.0)
    # Once the hanging piece is there, the shelf above bridges over to it.
    assert longest(found, "bridge").span_mm == pytest.approx(5.0, abs=0.01)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("step", "kind"), [(0.15, None), (0.3, "ledge"), (0.45, "ledge"), (0.8, "overhang")]
)
def test_one_short_step_prints_a_long_one_does_not(step: float, kind: str | None) -> None:
    stair = fused(box((0, 5), (0, 5), (0, 4)), box((0, 5 + step), (0, 5), (4, 8)))
    found = findings(stair)
    assert kinds(found) == ({kind} if kind else set())
    if found:
        assert found[0].reach_mm == pytest.approx(step, abs=0.01)


def test_short_steps_one_above_the_other_add_up() -> None:
    """Stairs of 0.3 mm in every layer are a slope of 56 degrees, not a series of ledges."""
    stairs = [box((0, 5 + 0.3 * i), (0, 5), (4 + 0.2 * i, 4.2 + 0.2 * i)) for i in range(6)]
    found = findings(fused(box((0, 5), (0, 5), (0, 4.1)), *stairs))
    assert kinds(found) == {"ledge", "overhang"}
    assert max(f.reach_mm for f in found) == pytest.approx(5 * 0.3, abs=0.02)


def slope(angle_deg: float) -> cq.Solid:
    out = 8.0 * math.tan(math.radians(angle_deg))
    return prism([(0, 0), (5, 0), (5 + out, 8), (0, 8)], 6.0)


@pytest.mark.parametrize(
    ("angle", "layer", "expected"),
    [
        (30.0, 0.2, set()),
        (45.0, 0.2, set()),
        # 0.2 tan 47 - 0.2 = 0.014 mm a layer: less than the crumb width, no bead notices.
        (47.0, 0.2, set()),
        (60.0, 0.2, {"ledge", "overhang"}),
        # 0.12 tan 60 = 0.208 mm: the flank of a thread, on thinner layers.
        (60.0, 0.12, {"steep"}),
        (65.0, 0.12, {"ledge", "overhang"}),
    ],
)
def test_slopes(angle: float, layer: float, expected: set[str]) -> None:
    found = findings(slope(angle), layer)
    assert kinds(found) == expected
    for f in found:
        if f.kind == "steep":
            assert f.angle_deg == pytest.approx(angle, abs=1.0)


def test_limit_of_the_material_is_used() -> None:
    rules = SupportRules(overhang_deg=30.0, line_width_mm=0.2)
    assert kinds(findings(slope(45.0), 0.2, rules)) == {"ledge", "overhang"}
    assert not findings(slope(28.0), 0.2, rules)


def arch(radius: float) -> cq.Solid:
    """A block with a half-round tunnel along y."""
    block = box((-radius - 4, radius + 4), (0, 10), (0, radius + 4))
    tunnel = cq.Solid.makeCylinder(radius, 12, cq.Vector(0, -1, 0), cq.Vector(0, 1, 0))
    return one_solid(block.cut(tunnel))


@pytest.mark.parametrize("radius", [3.0, 10.0])
def test_arch_is_carried_to_45_degrees_and_closes_with_a_bridge(radius: float) -> None:
    """A circle hangs over by 45 degrees at z = R cos 45; the gap closed is 2 sqrt(R^2 - z^2)."""
    layer = 0.2
    found = findings(arch(radius), layer)
    steep_from = radius / math.sqrt(2.0)
    assert min(f.z_mm for f in found) >= steep_from - 2 * layer
    closing = longest(found, "bridge")
    assert closing is not None
    below = closing.z_mm - 0.5 * layer * (radius + 4) / (layer * math.ceil((radius + 4) / layer))
    assert closing.span_mm == pytest.approx(2.0 * math.sqrt(radius**2 - below**2), rel=0.03)


def test_roof_at_45_degrees_over_a_tunnel_prints() -> None:
    r = 5.0
    roof = prism([(-6, 0), (6, 0), (6, 14), (-6, 14)], 10.0).cut(
        prism([(-r, -1), (r, -1), (r, 3), (0, 3 + r), (-r, 3)], 10.0)
    )
    assert not findings(one_solid(roof))


def test_first_layer_lies_on_the_bed() -> None:
    assert not findings(box((0, 50), (0, 50), (0, 3)))


def test_crumbs_are_left_out() -> None:
    """A shelf of 0.04 mm beyond the limit is less than the stated crumb width."""
    shelf = fused(box((0, 5), (0, 5), (0, 4)), box((0, 5.24), (0, 5), (4, 8)))
    assert not findings(shelf)


def test_which_kinds_need_supports() -> None:
    assert {"overhang", "floating"} == NEEDS_SUPPORT


def test_the_farthest_point_lies_in_the_middle_of_a_long_edge() -> None:
    """A lid over a gap that widens from 38 to 42 mm: its long edge hangs farthest in between.

    By hand: a point of the edge at y = 10 is x from the left wall and (42 - x) cos a from the
    right one, tan a = 4 / 10, so it lies 20.23 mm out at most; edges are searched in steps of a
    fortieth of the place, which may miss that by half a step.
    """
    right = cq.Wire.makePolygon(
        [cq.Vector(x, y, 0.0) for x, y in ((38, 0), (45, 0), (45, 10), (42, 10))], close=True
    )
    body = fused(
        box((-3, 0), (0, 10), (0, 10)),
        cq.Solid.extrudeLinear(right, [], cq.Vector(0.0, 0.0, 10.0)),
        box((-3, 45), (0, 10), (10, 12)),
    )
    (found,) = findings(body)
    cosine = math.cos(math.atan2(4.0, 10.0))
    exact = 42.0 * cosine / (1.0 + cosine)
    assert found.kind == "bridge"
    assert exact - 42.0 / 80.0 <= found.reach_mm <= exact + 0.01


def plate_over_two_walls(hole: cq.Solid | None, half: float = 12.0) -> cq.Solid:
    """A plate 60 mm long bridged between two walls, 2 mm thick, with a hole in its middle."""
    plate = box((-half - 3, half + 3), (0, 60), (10, 12))
    return fused(
        box((-half - 3, -half), (0, 60), (0, 10)),
        box((half, half + 3), (0, 60), (0, 10)),
        one_solid(plate.cut(hole)) if hole else plate,
    )


def drill(radius: float) -> cq.Solid:
    return cq.Solid.makeCylinder(radius, 20, cq.Vector(0, 30, 0))


@pytest.mark.parametrize("radius", [0.35, 0.5, 2.0, 3.0, 11.0])
def test_the_rim_of_a_hole_in_a_bridged_plate_hangs_free(radius: float) -> None:
    """Lines from a wall end in the air at the hole, however little of the plate they are.

    Of 24 x 60 mm less the hole, those that cross a hole of 3 mm radius cover 8 %.
    """
    assert kinds(findings(plate_over_two_walls(drill(radius)))) == {"overhang"}


def test_a_pinhole_of_less_than_a_bead_does_not_break_a_bridge() -> None:
    (found,) = findings(plate_over_two_walls(drill(0.2)))
    assert found.kind == "bridge"


def test_a_rim_that_closes_in_steps_is_bridged_step_by_step() -> None:
    """First strips beside a square hole, then its corners, then those of the octagon: each step's
    lines end on the one before."""
    sides = ((8, 10.4, 10.8), (16, 10.8, 11.2), (32, 11.2, 12.0))
    r = 12.0
    walls = [box((x, x + 3), (0, 60), (0, 10)) for x in (-r - 3, r)]
    first = box((-r - 3, r + 3), (0, 60), (10, 10.4)).cut(box((-r, r), (18, 42), (9, 11)))
    parts = [*walls, one_solid(first)]
    for count, low, high in sides:
        corner = r / math.cos(math.pi / count)
        ring = [
            cq.Vector(
                corner * math.cos(math.pi * (2 * i + 1) / count),
                30 + corner * math.sin(math.pi * (2 * i + 1) / count),
                low,
            )
            for i in range(count)
        ]
        hole = cq.Solid.extrudeLinear(
            cq.Wire.makePolygon(ring, close=True), [], cq.Vector(0, 0, high - low)
        )
        parts.append(one_solid(box((-r - 3, r + 3), (0, 60), (low, high)).cut(hole)))
    found = findings(fused(*parts))
    assert kinds(found) == {"bridge"}
    # The last one reaches out by less than a step at the limit.
    assert len({f.z_mm for f in found}) == 3


def strand_of(body: cq.Solid) -> Finding:
    (found,) = findings(body)
    assert found.kind == "bridge"
    return found


@pytest.mark.parametrize("turn", [0.0, 35.0])
@pytest.mark.parametrize("depth", [0.3, 0.9, 8.0])
def test_a_strand_is_as_wide_as_what_hangs_free(depth: float, turn: float) -> None:
    body = table(12.0, depth).rotate(cq.Vector(), cq.Vector(0, 0, 1), turn)
    assert strand_of(body).strand_mm == pytest.approx(depth, abs=0.01)


def between_walls(plan: list[tuple[float, float]], span: float = 20.0) -> cq.Solid:
    """A plate of any plan on two walls 10 mm deep, the clear span between them along x."""
    wire = cq.Wire.makePolygon([cq.Vector(x, y, 10.0) for x, y in plan], close=True)
    return fused(
        box((-3, 0), (0, 10), (0, 12)),
        box((span, span + 3), (0, 10), (0, 12)),
        cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, 2)),
    )


def test_a_tapering_strand_counts_where_it_is_narrowest() -> None:
    """From 3 to 2.8 mm over 20 mm; the last 0.21 mm at the narrow end lie on the wall's step."""
    found = strand_of(between_walls([(-1, 2), (21, 2), (21, 4.8), (20, 4.8), (0, 5), (-1, 5)]))
    assert found.strand_mm == pytest.approx(2.8 + 0.2 * 0.21 / 20.0, abs=0.001)


def test_a_strand_with_a_waist_counts_there() -> None:
    """4 mm wide but for a notch 0.3 mm deep; its area over its span would say 3.99 mm."""
    waist = [(-1.0, 3.0), (9.9, 3.0), (9.9, 3.3), (10.1, 3.3), (10.1, 3.0), (21.0, 3.0)]
    found = strand_of(between_walls([*waist, (21.0, 7.0), (-1.0, 7.0)]))
    assert found.strand_mm == pytest.approx(3.7, abs=0.001)


def test_a_strand_that_narrows_to_half_hangs_in_the_air() -> None:
    """The lines of the wide half end where it narrows."""
    plan = [(-1.0, 4.5), (10.0, 4.5), (10.0, 3.0), (21.0, 3.0), (21.0, 6.0), (10.0, 6.0)]
    assert kinds(findings(between_walls([*plan, (10.0, 5.0), (-1.0, 5.0)]))) == {"overhang"}


def test_held_along_a_side_it_is_no_strand() -> None:
    """A lid on four walls, and a shelf in a corner of three."""
    hollow = box((0, 40), (0, 22), (0, 12)).cut(box((5, 35), (5, 17), (0, 10)))
    assert math.isinf(strand_of(one_solid(hollow)).strand_mm)
    niche = box((0, 30), (0, 12), (0, 12)).cut(box((5, 25), (5, 13), (0, 10)))
    assert math.isinf(strand_of(one_solid(niche)).strand_mm)


def hung(profile: list[tuple[float, float]], span: float = 20.0) -> cq.Solid:
    """A bar of a profile (y, z) between two walls, its tip free of the bed."""
    wire = cq.Wire.makePolygon([cq.Vector(-1.0, y, z) for y, z in profile], close=True)
    return fused(
        box((-3, 0), (-8, 8), (0, 12)),
        box((span, span + 3), (-8, 8), (0, 12)),
        cq.Solid.extrudeLinear(wire, [], cq.Vector(span + 2.0, 0, 0)),
    )


def test_a_bar_on_its_corner_starts_on_a_thread_a_plank_on_two_beads() -> None:
    """Both 1.5 mm thick at 45 degrees: the first layer of the bar is cut 0.1 mm above its corner,
    where it is 0.2 mm wide; the plank's flat end is 1.5 times the root of two wide."""
    a, t = 4.0 / math.sqrt(2.0), 1.5 / math.sqrt(2.0)
    bar = hung([(0, 4), (a, 4 + a), (a - t, 4 + a + t), (-t, 4 + t)])
    found = findings(bar)
    assert kinds(found) == {"bridge"}
    assert min(f.strand_mm for f in found) == pytest.approx(0.2, abs=0.01)
    flat = 2.0 * t
    plank = hung([(0, 4), (flat, 4), (flat + 3, 7), (3, 7)])
    assert strand_of(plank).strand_mm == pytest.approx(flat, abs=0.01)


@pytest.mark.parametrize("lean", [-1.0, 0.0, 0.8])
@pytest.mark.parametrize(("growth", "strand"), [(0.04, 0.06), (0.02, 0.05), (0.009, 0.05)])
def test_a_wedge_that_grows_by_crumbs_is_no_better_than_its_first_bead(
    growth: float, strand: float, lean: float
) -> None:
    """Each layer is wider by less than a crumb than the one below, which never was laid.

    Upright, with one side upright, or leaning over by 40 degrees.
    """
    height = 7.0
    half = 0.5 * growth * height / 0.2
    middle = -half if lean < 0.0 else lean * height
    found = findings(hung([(0, 4), (middle + half, 4 + height), (middle - half, 4 + height)]))
    assert [f.kind for f in found] == ["bridge"]
    assert strand <= found[0].strand_mm <= strand + growth + 0.002


def test_a_fin_too_thin_to_lay_carries_nothing() -> None:
    """Below a slat of 2 mm hangs a fin of 0.04 mm: the slat is the first that is laid."""
    fin = [(0, 4), (0.04, 4), (0.04, 5), (2, 5), (2, 7), (0, 7)]
    found = findings(hung([(float(y), float(z)) for y, z in fin]))
    assert [f.kind for f in found] == ["bridge"]
    assert found[0].z_mm == pytest.approx(5.0, abs=0.01)
    assert found[0].strand_mm == pytest.approx(2.0, abs=0.01)


def test_a_drop_that_starts_as_a_crumb_starts_in_mid_air() -> None:
    """A cone hanging from a shelf, its tip down: 0.1 mm up it holds 0.003 mm2, then 0.03, 0.09."""
    shelf = fused(box((0, 3), (0, 12), (0, 12)), box((0, 12), (0, 3), (0, 12)))
    drop = cq.Solid.makeCone(0.0, 2.0, 6.0, cq.Vector(7.5, 7.5, 4.0))
    found = findings(fused(shelf, drop, box((0, 12), (0, 12), (10, 12))))
    floating = [f for f in found if f.kind == "floating"]
    assert [f.z_mm for f in floating] == pytest.approx([4.4], abs=0.01)
