"""Slivers are found on shapes drawn by hand, at their place, and threads are left out."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from vent_family.base.limits import EDGE_MIN, FACE_MIN, THREAD_FLAT_MIN
from vent_family.base.materials import MATERIALS
from vent_family.evidence.solid.slivers import check_slivers, smallest_edge, smallest_face
from vent_family.geometry.locknut import locknut
from vent_family.spec.thread.iso import thread_spec


def stepped(step: float) -> cq.Solid:
    """A block of 20 x 10 x 5 mm with a step of this height (mm) in the middle of its top."""
    block = cq.Workplane().box(20, 10, 5, centered=(False, True, False))
    low = cq.Workplane().box(10, 10, 5, centered=(False, True, False)).translate((10, 0, 5 - step))
    return block.cut(low).val().Solids()[0]


@pytest.mark.parametrize(("step", "verdict"), [(0.099, "fail"), (0.101, "pass")])
def test_a_step_of_a_tenth_of_a_millimetre_is_the_least(step: float, verdict: str) -> None:
    solid = stepped(step)
    found = smallest_edge(solid)
    assert found.size == pytest.approx(step)
    assert found.place_mm == pytest.approx(
        (10.0, math.copysign(5.0, found.place_mm[1]), 5 - step / 2)
    )
    assert found.too_small == (2 if verdict == "fail" else 0)
    edges, faces = check_slivers(solid)
    assert (edges.verdict, edges.limit, edges.unit) == (verdict, EDGE_MIN.value, "mm")
    assert edges.value == pytest.approx(step)
    # The step's face is 10 mm wide: a sliver by its edges, not by its area.
    assert faces.verdict == "pass"
    assert faces.value == pytest.approx(10.0 * step)


@pytest.mark.parametrize(("side", "verdict"), [(0.098, "fail"), (0.102, "pass")])
def test_a_face_of_a_hundredth_of_a_square_millimetre_is_the_least(
    side: float, verdict: str
) -> None:
    """A peg with a square end on a block."""
    solid = cq.Workplane().box(5, 5, 5).faces(">Z").workplane().rect(side, side).extrude(1.0)
    found = smallest_face(solid.val().Solids()[0])
    assert found.size == pytest.approx(side**2)
    assert found.place_mm == pytest.approx((0.0, 0.0, 3.5))
    (_, faces) = check_slivers(solid.val().Solids()[0])
    assert (faces.verdict, faces.limit, faces.unit) == (verdict, FACE_MIN.value, "mm2")


def test_round_edges_are_measured_along_the_arc() -> None:
    peg = cq.Workplane().cylinder(1.0, 0.015).val().Solids()[0]
    assert smallest_edge(peg).size == pytest.approx(2.0 * math.pi * 0.015)


def test_flats_within_a_thread_are_the_threads() -> None:
    """The nut for PP clears its neck so far that its crests are 0.086 mm wide, as ISO's profile
    moved out leaves them: more than the thread's own limit, less than an edge's."""
    thread = thread_spec("M20x1.5", MATERIALS["PP"].thread_clearance_normal_mm)
    nut = locknut(thread)
    lengths = [edge.Length() for edge in nut.Edges()]
    assert THREAD_FLAT_MIN.value < min(lengths) < EDGE_MIN.value
    assert {c.verdict for c in check_slivers(nut)} == {"pass"}


def test_the_report_says_where_and_why_it_matters() -> None:
    (edges, _) = check_slivers(stepped(0.05))
    assert edges.message == (
        "2 edges under 0.1 mm, the smallest 0.05 mm long, at x 10.0, y"
        f" {smallest_edge(stepped(0.05)).place_mm[1]:.1f}, z 5.0 mm: two surfaces nearly coincide"
        " there, and meshes and CAD systems lose such places"
    )
