"""The pieces a part takes: plain bodies by hand, vents of every form and family."""

from __future__ import annotations

import math
from functools import cache

import cadquery as cq
import numpy as np
import pytest
from shapely import contains_xy
from shapely.geometry import Polygon
from shapely.geometry import box as strip

from tests.helpers.print_shapes import box, fused, mesh
from tests.helpers.rows import spec
from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.shop import demo_shop
from vent_family.evidence.cost.mould import samples
from vent_family.evidence.cost.mould.moulding import moulding_of
from vent_family.evidence.cost.mould.pieces import Split, split_part
from vent_family.evidence.cost.mould.record import moulding_lines, moulding_record
from vent_family.evidence.cost.mould.shape import PieceShape, face_count
from vent_family.geometry.primitives import cut
from vent_family.geometry.vent import build_solids
from vent_family.mesh.vent import Meshes, meshes_of
from vent_family.spec.vent import VentSpec

Mesh = tuple[FloatArray, IntArray]
NOMINAL, RING = 2.5, 2.0
LOW_SLATS: dict[str, str | int | float]
LOW_SLATS = {"size": "60x60", "pitch_mm": 10.0, "slat_height_mm": 7.5, "bank_count": 4}


def pieces_of(part: VentSpec, body: Mesh, nut: Mesh | None = None) -> Split:
    beside = {} if nut is None else {"locknut": nut}
    return split_part(part, body, beside, nominal_mm=NOMINAL, ring_mm=RING)


@cache
def vent(family: str, **cells: str | int | float) -> tuple[VentSpec, Meshes]:
    part = spec(family, **cells)
    return part, meshes_of(build_solids(part))


@cache
def pieces(family: str, **cells: str | int | float) -> dict[str, PieceShape]:
    part, bodies = vent(family, **cells)
    return {p.name: p for p in pieces_of(part, bodies[""], bodies.get("locknut")).pieces}


def whole(solid: object) -> PieceShape:
    """Return a plain body that is moulded in one piece, whatever part it stands for."""
    [piece] = pieces_of(spec("rectangular"), mesh(solid)).pieces  # type: ignore[arg-type]
    assert piece.name == "vent"
    return piece


def test_a_bored_plate_is_one_piece() -> None:
    """60 x 40 x 2 mm with a hole of 10 mm: shadow, plastic and faces by hand.

    Its rims and the hole's wall have 2 mm of wall behind them, whatever their distance from the
    other side.
    """
    hole = cq.Solid.makeCylinder(5.0, 4.0, cq.Vector(30.0, 20.0, -1.0), cq.Vector(0, 0, 1))
    found = whole(cut(box((0.0, 60.0), (0.0, 40.0), (0.0, 2.0)), [hole]))
    area = 60.0 * 40.0 - math.pi * 25.0
    assert found.draw.axis == "z"
    assert found.shadow_mm2 == pytest.approx(area, rel=2e-3)
    assert found.volume_mm3 == pytest.approx(2.0 * area, rel=2e-3)
    assert found.faces == 7
    assert found.size_mm == pytest.approx((60.0, 40.0, 2.0))
    assert found.wall_mm == pytest.approx(2.0, abs=1e-6)


def test_an_open_box_weighs_what_its_walls_do() -> None:
    """50 x 40 x 30 mm outside, 2 mm walls: edges count twice or not at all, so within 5 %."""
    inside = box((2.0, 48.0), (2.0, 38.0), (2.0, 31.0))
    found = whole(cut(box((0.0, 50.0), (0.0, 40.0), (0.0, 30.0)), [inside]))
    assert found.volume_mm3 == pytest.approx(50.0 * 40.0 * 30.0 - 46.0 * 36.0 * 28.0, rel=0.05)
    assert found.wall_mm == pytest.approx(2.0, abs=1e-6)


def test_a_solid_chunk_is_cored_to_the_nominal_wall() -> None:
    """A cube of 20 mm: six faces of 400 mm2, each with half of 2.5 mm."""
    found = whole(box((0.0, 20.0), (0.0, 20.0), (0.0, 20.0)))
    assert found.volume_mm3 == pytest.approx(6 * 400.0 * 1.25, rel=1e-6)
    assert found.wall_mm == NOMINAL


def test_faces_are_counted_by_their_edges() -> None:
    assert face_count(*mesh(cq.Solid.makeCylinder(10.0, 20.0))) == 3
    step = fused(
        box((0.0, 20.0), (0.0, 20.0), (0.0, 5.0)), box((0.0, 10.0), (0.0, 20.0), (0.0, 9.0))
    )
    assert face_count(*mesh(step)) == 8
    letter = fused(
        box((0.0, 20.0), (0.0, 20.0), (0.0, 5.0)), box((0.0, 2.0), (0.0, 2.0), (0.0, 6.0))
    )
    assert face_count(*mesh(letter)) == 6


@pytest.mark.parametrize(
    ("family", "cells"),
    [
        ("rectangular", {"size": "40x40", "slat_foot_mm": 0.0}),
        (
            "rectangular",
            {"size": "60x60", "print_orientation": "upright", "fixing": "snap", "overlap_mm": 3.5},
        ),
        ("round", {"size": "M20x1.5"}),
        ("flanged", {"size": "60x60", "slat_foot_mm": 0.0}),
    ],
)
def test_every_bank_of_planks_is_a_grille_drawn_along_its_slope(
    family: str, cells: dict[str, str]
) -> None:
    """Slats higher than their pitch cover one another along z; banks lean by turns."""
    part, _ = vent(family, **cells)
    stack = part.section.stack
    assert stack.slat_height_mm > stack.pitch_mm
    found = pieces(family, **cells)
    for bank in range(stack.bank_count):
        # Outer edge down: up and inwards, which is up and against +z.
        slope = -45.0 if stack.slopes[bank] == 1 else 45.0
        assert abs(found[f"grille {bank + 1}"].draw.lean_deg) == 45.0
        assert found[f"grille {bank + 1}"].draw.lean_deg * found["grille 1"].draw.lean_deg == (
            slope * (-45.0 if stack.slopes[0] == 1 else 45.0)
        )
    assert all(p.draw.free for p in found.values())


def test_a_lower_slat_leaves_the_mould_along_the_depth() -> None:
    """Slats that do not cover one another: 7.5 mm high at a pitch of 10."""
    found = pieces("rectangular", **LOW_SLATS)
    assert {p.draw.lean_deg for p in found.values()} == {0.0}
    assert "grille 4" in found


def test_folded_slats_are_two_grilles_a_bank() -> None:
    found = pieces("rectangular", size="40x40", slat_form="folded")
    assert set(found) == {"shell", "grille 1a", "grille 1b", "grille 2a", "grille 2b"}
    assert all(p.draw.free and p.draw.lean_deg == 0.0 for p in found.values())


def test_equal_banks_of_flat_slats_share_a_tool() -> None:
    """Four banks shifted by half a pitch: the second and the fourth are alike, ends included.

    The first has the apron; each grille is as deep as its slats are thick.
    """
    found = pieces("rectangular", size="60x60", slat_form="flat")
    assert found["grille 2, grille 4"].count == 2
    assert sum(p.count for p in found.values()) == 5
    assert found["grille 3"].size_mm[2] == pytest.approx(1.5, abs=1e-6)


def test_threads_are_split_outside_and_turned_out_inside() -> None:
    """Plenum, posts and bevelled bore of a low head leave the mould along the depth."""
    found = pieces("round", size="M20x1.5")
    assert sorted(found["shell"].draw.slides) in (["+x", "-x"], ["+y", "-y"])
    assert not found["shell"].draw.unscrewed
    assert found["locknut"].draw.unscrewed
    assert found["locknut"].draw.slides == ()


def test_snap_arms_take_a_slide_along_their_slots() -> None:
    snap = pieces("rectangular", size="60x60", print_orientation="upright", fixing="snap")
    # One way for the slots, the other for the groove in the leg that holds the panel.
    assert sorted(snap["shell"].draw.slides) == ["+y", "-y"]
    plain = pieces("rectangular", size="40x40")
    assert plain["shell"].draw.slides == ()


def ring_and_ribs_mm3(part: VentSpec, bank: int, across_mm: float, high_mm: float) -> float:
    """Return the plastic of a ring and ribs about a bank between two others, by hand.

    Ribs over what the mesh shows of them; a ring 2 mm wide around the outlines, which seen along
    the opening are ``across_mm`` wide and ``high_mm`` high, as deep as the slats.
    """
    zs = [z for s in part.section.slats if s.bank == bank for z, _ in s.outline]
    ring = 2.0 * (across_mm + high_mm) * RING * (max(zs) - min(zs))
    gaps = part.section.stack.gaps_mm
    low, high = min(zs) - gaps[bank] / 2.0, max(zs) + gaps[bank - 1] / 2.0
    # The slats' ends lie in the ribs and are no surface.
    section, rib = part.section, part.rib_thickness_mm
    room = section.room.intersection(strip(low, -1e3, high, 1e3)).difference(section.slats_solid)
    assert part.rib_count > 0
    return ring + part.rib_count * room.area * min(rib, NOMINAL)


def test_plastic_of_a_grille_by_hand() -> None:
    """Slats: area in section times their length."""
    part, _ = vent("rectangular", **LOW_SLATS)
    slats = [s.outline for s in part.section.slats if s.bank == 1]
    ys = [y for s in slats for _, y in s]
    plastic = sum(Polygon(s).area for s in slats) * sum(b - a for a, b in part.bays)
    across = part.bays[-1][1] - part.bays[0][0]
    plastic += ring_and_ribs_mm3(part, 1, across, max(ys) - min(ys))
    found = pieces("rectangular", **LOW_SLATS)["grille 2"]
    assert found.volume_mm3 == pytest.approx(plastic, rel=0.03)


def test_slats_of_a_round_grille_end_at_wall_and_flats(monkeypatch: pytest.MonkeyPatch) -> None:
    """Slats: share of random points of a box that lie in one, in a bay and within the circle.

    The circle is that of a head of 48 mm less a wall of 2.4 mm; outer bays end at flat sides.
    Small triangles, so that those on ribs are shared out among the banks to within a percent.
    """
    monkeypatch.setattr(samples, "SIDE_MM", 2.0)
    part, bodies = vent("round", size="M20x1.5")
    slats = [s.outline for s in part.section.slats if s.bank == 1]
    corners = np.array([c for s in slats for c in s])
    (z0, y0), (z1, y1) = corners.min(axis=0), corners.max(axis=0)
    radius, half = 48.0 / 2.0 - 2.4, part.bays[-1][1]
    random = np.random.default_rng(11)
    x, y, z = random.uniform((-half, y0, z0), (half, y1, z1), (200_000, 3)).T
    inside = np.any([contains_xy(Polygon(s), z, y) for s in slats], axis=0)
    inside &= np.any([(x > a) & (x < b) for a, b in part.bays], axis=0)
    inside &= np.hypot(x, y) < radius
    plastic = inside.mean() * 2.0 * half * (y1 - y0) * (z1 - z0)
    # Seen along its slope, 45 degrees up and inwards or outwards.
    along = corners @ np.array([part.section.stack.slopes[1], 1.0]) / math.sqrt(2.0)
    plastic += ring_and_ribs_mm3(part, 1, 2.0 * half, np.ptp(along))
    found = {p.name: p for p in pieces_of(part, bodies[""]).pieces}["grille 2"]
    assert found.volume_mm3 == pytest.approx(plastic, rel=0.01)


def test_a_shell_with_a_groove_inside_is_cut_in_two() -> None:
    """A tube with a groove in its bore, moulded with a vent's shell: freed by a cut through it."""
    part, bodies = vent("rectangular", size="40x40")
    tube = box((150.0, 180.0), (0.0, 30.0), (0.0, 18.0))
    tools = [
        box((157.0, 173.0), (7.0, 23.0), (-1.0, 19.0)),
        box((154.0, 176.0), (4.0, 26.0), (5.0, 13.0)),
    ]
    vertices, triangles = mesh(cut(tube, tools))
    both = (
        np.concatenate([bodies[""][0], vertices]),
        np.concatenate([bodies[""][1], triangles + len(bodies[""][0])]),
    )
    found = {p.name: p for p in pieces_of(part, both).pieces}
    assert "shell" not in found
    assert found["back shell"].draw.free
    assert found["front shell"].draw.free
    # As wide as the tube and the vent together behind, as the tube in front.
    assert found["front shell"].size_mm[:2] == pytest.approx((30.0, 30.0))


def test_undercuts_are_named_by_what_the_layout_knows() -> None:
    part, bodies = vent("round", size="M20x1.5")
    found = pieces_of(part, bodies[""], bodies["locknut"])
    along = {u.axis: u for u in found.undercuts}
    assert [u.axis for u in found.undercuts] == ["x", "y", "z"]
    names = {name for name, _ in along["z"].regions}
    assert {"slats of bank 1", "slats of bank 2", "slats of bank 3", "thread"} <= names
    assert "thread" not in {name for name, area in along["x"].regions if area > 1.0}
    assert along["z"].area_mm2 == pytest.approx(sum(a for _, a in along["z"].regions))


def test_the_report_says_how_many_pieces_and_why() -> None:
    part, bodies = vent("rectangular", size="40x40", slat_form="folded")
    made = moulding_of(part, bodies[""], {}, demo_shop())
    text = "\n".join(moulding_lines(moulding_record(made, 8_872)))
    assert text.startswith("Moulded: 5 pieces. In one, ")
    assert "slats of bank" in text
    assert "| grille 1b | 1 | along z |" in text
    assert "It pays from 8,872 parts on." in text
    assert "4 joints must be welded or sealed" in text
    assert "It never pays." in "\n".join(moulding_lines(moulding_record(made, None)))
