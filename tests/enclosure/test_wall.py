"""Walls measured on solids: hollow boxes of stated thickness, ribs, edges, bends."""

from __future__ import annotations

import cadquery as cq
import pytest

from vent_family.base.problems import InputError
from vent_family.enclosure.wall import drawn_in, measured, outer_face

V = cq.Vector


def hollow(wall_mm: float) -> cq.Workplane:
    return cq.Workplane().box(300, 200, 400).faces("<Z").shell(-wall_mm)


@pytest.mark.parametrize("wall_mm", [1.0, 1.5, 2.0, 3.0, 6.0])
def test_thickness_is_what_the_box_was_made_with(wall_mm: float) -> None:
    body = hollow(wall_mm).val()
    for at, outward in (
        ((0, -100, 0), (0, -1, 0)),
        ((150, 10, 5), (1, 0, 0)),
        ((20, 30, 200), (0, 0, 1)),
    ):
        face = outer_face(body, V(*at))
        assert face.normalAt().toTuple() == pytest.approx(outward)
        found = measured(body, face, [V(*at)])
        assert found.thickness_mm == pytest.approx(wall_mm, abs=1e-6)
        ahead = found.inner.normalAt().dot(V(*outward))
        assert ahead == pytest.approx(-1.0)


def test_the_inner_side_can_be_asked_for_too() -> None:
    body = hollow(2.0).val()
    face = outer_face(body, V(0, -98, 0))
    assert face.normalAt().toTuple() == pytest.approx((0, 1, 0))


def test_a_rib_behind_the_wall_is_told() -> None:
    rib = cq.Workplane().box(10, 6, 300).translate((40, -95, 0))
    body = hollow(2.0).union(rib).val()
    face = outer_face(body, V(0, -100, 0))
    with pytest.raises(InputError, match=r"2\.00 mm at .*, 8\.00 mm at \(40"):
        measured(body, face, [V(0, -100, 0), V(40, -100, 0)])


def test_an_opening_is_no_wall() -> None:
    body = hollow(2.0).faces("<Y").workplane(centerOption="CenterOfMass").hole(40).val()
    face = outer_face(body, V(60, -100, 0))
    with pytest.raises(InputError, match="no wall at"):
        measured(body, face, [V(60, -100, 0), V(0, -100, 0)])


def test_bent_faces_and_points_in_the_air_are_refused() -> None:
    pipe = cq.Workplane().circle(100).extrude(300).faces(">Z").shell(-2).val()
    with pytest.raises(InputError, match="not flat"):
        outer_face(pipe, V(100, 0, 150))
    with pytest.raises(InputError, match="lies on no face"):
        outer_face(hollow(2.0).val(), V(0, -110, 0))
    with pytest.raises(InputError, match="looks outwards"):
        outer_face(hollow(2.0).val(), V(0, -100, 0), V(1, 0, 0))


def test_a_face_is_drawn_in_the_plane_of_the_vent() -> None:
    plate = cq.Workplane("XZ").rect(200, 100).circle(20).extrude(2)
    plane = cq.Plane(origin=(10, 0, 5), xDir=(1, 0, 0), normal=(0, 1, 0))
    face = plate.faces(">Y").val()
    drawn = drawn_in(face, plane)
    assert drawn.is_valid
    assert drawn.area == pytest.approx(face.Area(), rel=2e-3)
    # Seen along +y with x to the right, z points down.
    assert drawn.bounds == pytest.approx((-110, -45, 90, 55))
