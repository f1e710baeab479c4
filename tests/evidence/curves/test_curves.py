"""Curves on the model of a small part, against its mesh and its print report."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon

from tests.helpers.meshes import trimesh_of
from tests.helpers.rows import spec
from vent_family.base.arrays import FloatArray
from vent_family.evidence.context import PartContext
from vent_family.evidence.curves.all import all_curves
from vent_family.evidence.curves.curve import Curves
from vent_family.evidence.curves.part import bridge_curves
from vent_family.evidence.palette import NAMES, YELLOW
from vent_family.evidence.printing.kind import PRINTING
from vent_family.geometry.projection import cut_x_mm

BEFORE_MM = 0.15
"""Lines at a face are drawn as far from it, at most."""


@pytest.fixture(scope="module")
def context() -> PartContext:
    row = spec(
        part_number="HV-R040",
        size="40x40",
        exposure="dripping",
        face_velocity_m_s=0.5,
        pitch_mm=7,
        overlap_mm=3,
        slat_thickness_mm=1.2,
        slat_foot_mm=0,
        bank_gaps_mm="2.7",
    )
    return PartContext(row)


@pytest.fixture(scope="module")
def known(context: PartContext) -> dict[str, Curves]:
    found = all_curves(context, cut_x_mm(context.spec.bays))
    return {curves.name: curves for curves in found}


@pytest.fixture(scope="module")
def mesh(context: PartContext) -> trimesh.Trimesh:
    return trimesh_of(context.solids.vent)


def inside(mesh: trimesh.Trimesh, points: FloatArray) -> float:
    """Return the share of points that lie in the solid."""
    return float(np.mean(mesh.contains(np.atleast_2d(points))))


def test_colours_are_told_apart_and_have_names(known: dict[str, Curves]) -> None:
    colours = [curves.colour for curves in known.values()]
    assert len(set(colours)) == len(colours) >= 6
    assert set(colours) <= set(NAMES)
    assert len(set(NAMES.values())) == len(NAMES)
    for curves in known.values():
        assert curves.legend.startswith(f"{NAMES[curves.colour]}: ")


def test_the_sight_line_misses_by_the_sections_margin(
    context: PartContext, known: dict[str, Curves]
) -> None:
    """Moved sideways by half the margin it clears one of those that stop it, on either side."""
    section = context.spec.section
    (line,) = known["sight line"].lines
    assert np.ptp(line[:, 0]) == 0.0
    flat = LineString(line[:, [2, 1]])
    (z0, y0), (z1, y1) = flat.coords
    normal = np.array([y0 - y1, z1 - z0]) / flat.length
    solids = [Polygon(slat.outline) for slat in section.slats] + [Polygon(section.apron)]
    lowest = min(y for _, y in section.lower) - 50.0
    walls = [section.ground(lowest), section.roof(section.highest_mm + 50.0)]
    met = [s for s in (*solids, *walls) if s.intersects(flat)]
    assert len(met) >= 2

    def clears(by_mm: float) -> list[int]:
        moved = translate(flat, *(by_mm * normal))
        return [i for i, solid in enumerate(met) if not solid.intersects(moved)]

    half = 0.5 * section.sight.margin_mm
    above = set(clears(half + 0.01)) - set(clears(half - 0.01))
    below = set(clears(-half - 0.01)) - set(clears(-half + 0.01))
    assert above
    assert below
    assert not above & below
    assert f"{section.sight.margin_mm:.2f} mm" in known["sight line"].words


def test_the_sight_line_is_stopped_where_the_solid_is(
    known: dict[str, Curves], mesh: trimesh.Trimesh
) -> None:
    (line,) = known["sight line"].lines
    stopped = sorted(known["stopped"].lines, key=lambda part: part[0, 2])
    assert stopped
    assert inside(mesh, np.array([part.mean(axis=0) for part in stopped])) == 1.0
    ends = [line[0], *(end for part in stopped for end in part), line[-1]]
    free = [0.5 * (a + b) for a, b in zip(ends[::2], ends[1::2], strict=True)]
    assert inside(mesh, np.array(free)) == 0.0


def test_bridges_are_as_long_as_the_report_says_and_lie_where_the_part_bridges(
    context: PartContext, known: dict[str, Curves], mesh: trimesh.Trimesh
) -> None:
    lines = known["bridges"].lines
    lengths = [float(np.linalg.norm(line[1] - line[0])) for line in lines]
    report = context.of(PRINTING)
    assert np.allclose(sorted(lengths), sorted(b.span_mm for b in report.vent.of_kind("bridge")))
    # Slats bridge from rib to rib, along x: their bays are the row's.
    bays = np.array(context.spec.bays)
    across = [line for line in lines if abs(np.ptp(line[:, 0])) > 15.0]
    assert len(across) > 20
    for line in across:
        ends = np.sort(line[:, 0])
        assert np.abs(bays - ends).sum(axis=1).min() < 0.1
    # Printed face down: towards the inside there is plastic, towards the bed there is none.
    middles = np.array([line.mean(axis=0) for line in across])
    out = np.array([0.0, 0.0, BEFORE_MM])
    assert inside(mesh, middles - 2.0 * out) == 1.0
    assert inside(mesh, middles + out) == 0.0


def test_a_bridge_too_long_to_be_clean_is_doubtful(context: PartContext) -> None:
    wide = PartContext(spec(size="40x40", rib_count=0, slat_thickness_mm=1.5, exposure="dry"))
    good = wide.spec.material.print_profile.bridge_good_mm
    curves = {c.name: c for c in bridge_curves(wide.of(PRINTING))}
    assert curves["doubtful"].colour == YELLOW
    lengths = [float(np.linalg.norm(line[1] - line[0])) for line in curves["doubtful"].lines]
    assert min(lengths) > good
    assert f"{len(lengths)} bridges that may sag" in curves["doubtful"].words
    assert all(np.linalg.norm(line[1] - line[0]) <= good for line in curves["bridges"].lines)


def test_drops_fly_where_air_is(known: dict[str, Curves], mesh: trimesh.Trimesh) -> None:
    ways = [way for name, c in known.items() if name.startswith("drops") for way in c.lines]
    assert len(ways) > 30
    middles = np.concatenate([0.5 * (way[1:] + way[:-1]) for way in ways])
    assert len(np.unique(middles[:, 0])) == 1
    assert inside(mesh, middles) < 0.02
    caught = known["drops caught"]
    ends = np.array([way[-1] for way in caught.lines])
    _, distance, _ = trimesh.proximity.closest_point(mesh, ends)
    assert np.percentile(distance, 90.0) < 0.1


def test_the_weakest_place_lies_at_its_screw_holes(
    context: PartContext, known: dict[str, Curves]
) -> None:
    weak = known["weak places"]
    assert "plastic under a washer, holds" in weak.words
    holes = sorted((h.x_mm, h.y_mm) for h in context.spec.opening.holes)
    centres = sorted(tuple(np.round(ring[:-1].mean(axis=0)[:2], 6)) for ring in weak.lines)
    assert np.allclose(centres, holes)
    assert all(np.allclose(ring[:, 2], context.spec.section.front_z_mm) for ring in weak.lines)
