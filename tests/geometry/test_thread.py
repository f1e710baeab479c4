"""The threaded neck and its locknut, measured on the finished solids."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from tests.helpers.sections import Gaps, axial_section, rise_mm, thread_gaps, thread_sizes
from vent_family.base.limits import MESH_VOLUME, STL_ANGLE, STL_CHORD
from vent_family.base.problems import InputError
from vent_family.catalog.model import ROUND_THREADS
from vent_family.geometry.helical import Cone, thread_faces
from vent_family.geometry.locknut import (
    locknut,
    locknut_location,
    simplified_locknut,
    thread_phase_deg,
)
from vent_family.geometry.thread import simplified_neck, threaded_neck
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.thread.iso import ThreadProfile, ThreadSpec, thread_spec
from vent_family.spec.thread.parts import (
    RELIEF_DEPTH,
    RELIEF_LENGTH,
    locknut_size,
    neck_length_min_mm,
    neck_relief_diameter_mm,
)

NOMINALS_MM = [float(thread.removeprefix("M")) for thread in ROUND_THREADS]
PITCH_MM = 1.5
LENGTH_MM = 12.0
WALL_MM = 3.0
FULL_MM = (-LENGTH_MM + 1.0, -RELIEF_LENGTH.value - 1.0)
"""Heights between which the neck's thread is full."""
CLAMP_MM = -2.3
"""Where the tests put the nut's washer face; not a whole number of pitches."""


@cache
def spec(nominal_mm: float, clearance_mm: float = 0.2) -> ThreadSpec:
    return thread_spec(f"M{nominal_mm:g}x1.5", clearance_mm)


@cache
def neck(nominal_mm: float) -> cq.Solid:
    return threaded_neck(spec(nominal_mm), LENGTH_MM, bore_mm(nominal_mm))


@cache
def nut(nominal_mm: float, clearance_mm: float = 0.2) -> cq.Solid:
    return locknut(spec(nominal_mm, clearance_mm))


@cache
def neck_section(nominal_mm: float, angle_deg: float) -> BaseGeometry:
    return axial_section(neck(nominal_mm), angle_deg)


def bore_mm(nominal_mm: float) -> float:
    return neck_relief_diameter_mm(spec(nominal_mm).external) - 2.0 * WALL_MM


def full_in_nut_mm(nominal_mm: float) -> tuple[float, float]:
    """Heights between which nut and neck both have full thread, the nut in its test place."""
    return CLAMP_MM - locknut_size(spec(nominal_mm)).thickness_mm + 1.6, CLAMP_MM - 1.6


def gaps_equal(gaps: Gaps, clearance_mm: float) -> bool:
    low, high = gaps.all_mm
    return gaps.overlap_mm2 == 0.0 and clearance_mm - 0.01 <= low and high <= clearance_mm + 0.01


# --- the neck --------------------------------------------------------------------------------


# Published: M20, M40, M63 (6g limits computed from ISO 965-1 and cross-checked); the other sizes
# from the same formulas, tested against tables in tests/spec/test_iso_thread.py.
PUBLISHED_6G = {
    20.0: (19.968, 19.732, 18.994, 18.854),
    40.0: (39.968, 39.732, 38.994, 38.844),
    63.0: (62.968, 62.732, 61.994, 61.834),
}


@pytest.mark.parametrize("nominal_mm", NOMINALS_MM)
def test_neck_measures_6g(nominal_mm: float) -> None:
    found = thread_sizes(neck_section(nominal_mm, 51.0), FULL_MM, PITCH_MM)
    limits = spec(nominal_mm).limits_6g
    major_max, major_min, pitch_max, pitch_min = PUBLISHED_6G.get(
        nominal_mm,
        (
            limits.major_max_mm,
            limits.major_min_mm,
            limits.pitch_diameter_max_mm,
            limits.pitch_diameter_min_mm,
        ),
    )
    assert found.major_mm == pytest.approx((major_max + major_min) / 2.0, abs=0.002)
    assert found.pitch_diameter_mm == pytest.approx((pitch_max + pitch_min) / 2.0, abs=0.002)
    # ISO 68-1 flat root, width P/4: H/4 below the pitch line. ISO 724: d1 = d - 1.082532 P.
    assert found.minor_mm == pytest.approx(found.pitch_diameter_mm - 0.433013 * 1.5, abs=0.002)
    assert found.minor_mm < nominal_mm - 1.082532 * 1.5 - 0.032
    assert found.pitch_mm == pytest.approx(1.5, abs=1e-4)


def test_neck_is_right_handed_with_a_lead_of_one_pitch() -> None:
    # Followed counter-clockwise through a quarter turn, a right-hand thread rises by a quarter of
    # its lead; through 300 degrees, by five sixths of it, a sixth short of the next tooth.
    start = neck_section(20.0, 51.0)
    for angle_deg, expected in ((90.0, 1.5 / 4.0), (300.0, -1.5 / 6.0)):
        rise = rise_mm(start, neck_section(20.0, 51.0 + angle_deg), FULL_MM, PITCH_MM)
        assert rise == pytest.approx(expected, abs=1e-4)


def test_a_left_hand_thread_would_be_noticed() -> None:
    mirrored = neck(20.0).mirror("YZ")
    start, later = (axial_section(mirrored, angle) for angle in (10.0, 100.0))
    assert rise_mm(start, later, FULL_MM, PITCH_MM) == pytest.approx(-1.5 / 4.0, abs=1e-4)


def test_crests_stand_at_whole_pitches_on_the_x_axis() -> None:
    found = thread_sizes(neck_section(25.0, 0.0), FULL_MM, PITCH_MM)
    assert found.tooth_mm / PITCH_MM == pytest.approx(round(found.tooth_mm / PITCH_MM), abs=1e-4)


@pytest.mark.parametrize("angle_deg", [10.0, 130.0, 250.0])
def test_neck_has_chamfers_and_a_plain_stub(angle_deg: float) -> None:
    thread = spec(32.0)
    section = neck_section(32.0, angle_deg)
    relief = neck_relief_diameter_mm(thread.external) / 2.0
    bore = bore_mm(32.0) / 2.0

    def reach(z: float) -> float:
        return section.intersection(box(0.0, z - 1e-6, 99.0, z + 1e-6)).bounds[2]

    # Nothing stands beyond either 45 degree cone, and the thread does reach them.
    depth = thread.external.depth_mm
    touched = {"tip": 0, "head": 0}
    for step in np.arange(0.02, depth, 0.02):
        for name, z in (("tip", -LENGTH_MM + step), ("head", -RELIEF_LENGTH.value - step)):
            assert reach(z) <= relief + step + 1e-4
            touched[name] += reach(z) > relief + step - 1e-3
    assert min(touched.values()) >= RELIEF_DEPTH.value / 0.02 - 1
    assert reach(-LENGTH_MM + 1e-4) == pytest.approx(relief, abs=1e-3)
    for z in (-0.01, -0.5, -RELIEF_LENGTH.value + 0.01):
        assert reach(z) == pytest.approx(relief, abs=1e-4)
    assert section.bounds == pytest.approx((bore, -LENGTH_MM, thread.external.major_mm / 2.0, 0.0))


def exact_mean_square_mm2(profile: ThreadProfile, z: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Mean over one turn of the squared radius of thread and end cones together, at heights z.

    Over a turn the profile passes every height once: the mean over the angle is the mean over the
    profile (Pappus). ``ends`` is the cones' radius; a lesser radius wins.
    """
    points = np.array(profile.points_mm)
    along = points[0, 1] + (np.arange(2000) + 0.5) / 2000 * profile.pitch_mm
    thread = np.interp(along, points[:, 1], points[:, 0])
    return np.mean(np.minimum(thread[None, :], ends[:, None]) ** 2, axis=1)


def neck_volume_mm3(thread: ThreadSpec, length_mm: float, bore: float, relief_mm: float) -> float:
    z = -length_mm + (np.arange(4000) + 0.5) / 4000 * length_mm
    base = neck_relief_diameter_mm(thread.external) / 2.0
    ends = base + np.clip(np.minimum(z + length_mm, -relief_mm - z), 0.0, None)
    square = exact_mean_square_mm2(thread.external, z, ends)
    return math.pi * length_mm * (float(np.mean(square)) - (bore / 2.0) ** 2)


def meshed(shape: cq.Shape) -> trimesh.Trimesh:
    return trimesh.Trimesh(*mesh_of(shape, STL_CHORD.value, STL_ANGLE.value), process=False)


def assert_sound(shape: cq.Shape, volume_mm3: float) -> None:
    """One valid closed solid, its volume right exactly and in the mesh."""
    assert isinstance(shape, cq.Solid)
    assert shape.isValid()
    assert len(shape.Shells()) == 1
    assert shape.Shells()[0].Closed()
    assert shape.Volume(tol=1e-3) == pytest.approx(volume_mm3, rel=2e-4)
    mesh = meshed(shape)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(volume_mm3, rel=MESH_VOLUME.value)


@pytest.mark.parametrize(
    ("nominal_mm", "length_mm", "wall_mm", "relief_mm"),
    [
        (20.0, 8.0, 3.0, RELIEF_LENGTH.value),
        (20.0, 60.0, 1.2, RELIEF_LENGTH.value),
        (25.0, 10.37, 2.0, 3.1),
        (40.0, 12.0, 1.2, 0.5),
        (63.0, 12.0, 1.2, RELIEF_LENGTH.value),
        (75.0, 8.0, 0.6, RELIEF_LENGTH.value),
        (75.0, 31.0, 5.0, 2.0),
    ],
)
def test_neck_is_a_sound_solid(
    nominal_mm: float, length_mm: float, wall_mm: float, relief_mm: float
) -> None:
    thread = spec(nominal_mm)
    bore = neck_relief_diameter_mm(thread.external) - 2.0 * wall_mm
    solid = threaded_neck(thread, length_mm, bore, relief_mm)
    assert_sound(solid, neck_volume_mm3(thread, length_mm, bore, relief_mm))
    bounds = solid.BoundingBox()
    assert (bounds.zmin, bounds.zmax) == pytest.approx((-length_mm, 0.0), abs=1e-4)
    # Four faces a turn, six around them, no more.
    assert len(solid.Faces()) <= 4 * math.ceil(length_mm / PITCH_MM) + 6


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from(NOMINALS_MM),
    st.floats(0.0, 20.0),
    st.floats(0.1, 5.0),
    st.floats(0.3, 7.0),
)
def test_any_neck_is_one_valid_solid(
    nominal_mm: float, extra_mm: float, relief_mm: float, wall_mm: float
) -> None:
    thread = spec(nominal_mm)
    length = neck_length_min_mm(thread, relief_mm) + extra_mm
    bore = neck_relief_diameter_mm(thread.external) - 2.0 * wall_mm
    solid = threaded_neck(thread, length, bore, relief_mm)
    assert solid.isValid()
    assert solid.Volume(tol=1e-3) == pytest.approx(
        neck_volume_mm3(thread, length, bore, relief_mm), rel=1e-3
    )


def test_neck_fuses_to_a_head() -> None:
    solid = neck(32.0)
    head = cq.Solid.makeCylinder(22.0, 6.0)
    fused = head.fuse(solid)
    assert len(fused.Solids()) == 1
    assert fused.isValid()
    assert fused.Volume(tol=1e-3) == pytest.approx(head.Volume() + solid.Volume(tol=1e-3), rel=1e-6)
    assert meshed(fused).is_watertight


def test_neck_survives_a_step_file_without_parametric_curves(tmp_path: Path) -> None:
    path = tmp_path / "neck.step"
    solid = neck(63.0)
    cq.exporters.export(cq.Workplane(solid), str(path), opt={"write_pcurves": False})
    back = cq.importers.importStep(str(path)).val()
    assert isinstance(back, cq.Solid)
    assert back.isValid()
    assert back.Volume(tol=1e-3) == pytest.approx(solid.Volume(tol=1e-3), rel=1e-5)
    assert meshed(back).is_watertight
    assert path.stat().st_size < 250_000


def test_simplified_neck_is_plain_and_fits_the_same_place() -> None:
    thread, bore = spec(40.0), bore_mm(40.0)
    solid = simplified_neck(thread, LENGTH_MM, bore)
    major, relief = thread.external.major_mm / 2.0, neck_relief_diameter_mm(thread.external) / 2.0
    bounds = axial_section(solid, 20.0).bounds
    assert bounds == pytest.approx((bore / 2.0, -LENGTH_MM, major, 0.0), abs=1e-6)
    # Two frustums, the plain cylinder between them, the stub; less the bore.
    chamfer = major - relief
    cone = math.pi * chamfer * (major**2 + major * relief + relief**2) / 3.0
    full = LENGTH_MM - RELIEF_LENGTH.value - 2.0 * chamfer
    expected = (
        2.0 * cone
        + math.pi * (full * major**2 + RELIEF_LENGTH.value * relief**2)
        - math.pi * LENGTH_MM * (bore / 2.0) ** 2
    )
    assert_sound(solid, expected)
    assert len(solid.Faces()) == 7


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((3.0, 12.0), "too short for one full turn"),
        ((math.nan, 12.0), "too short for one full turn"),
        ((12.0, 18.2), "leaves no wall"),
        ((12.0, 0.0), "leaves no wall"),
        ((12.0, math.nan), "leaves no wall"),
        ((12.0, 12.0, 0.0), "stub"),
    ],
)
def test_impossible_necks_are_refused(arguments: tuple[float, ...], message: str) -> None:
    for build in (threaded_neck, simplified_neck):
        with pytest.raises(InputError, match=message) as caught:
            build(spec(20.0), *arguments)
        assert all(problem.allowed for problem in caught.value.problems)


def test_all_faults_of_a_neck_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        threaded_neck(spec(20.0), 1.0, 30.0)
    assert len(caught.value.problems) == 2


def test_thread_needs_room_between_its_cones() -> None:
    profile = spec(20.0).external
    low, high = Cone(9.0, 0.0, 1.0), Cone(9.0, 1.5, -1.0)
    with pytest.raises(ValueError, match="too close"):
        thread_faces(profile.points_mm, PITCH_MM, low, high)


# --- neck and locknut together ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("nominal_mm", "clearance_mm"), [(20.0, 0.2), (40.0, 0.15), (63.0, 0.2), (75.0, 0.25)]
)
def test_the_gap_is_the_clearance_everywhere(nominal_mm: float, clearance_mm: float) -> None:
    place = locknut_location(spec(nominal_mm), CLAMP_MM)
    placed = nut(nominal_mm, clearance_mm).moved(place)
    gaps = thread_gaps(
        neck_section(nominal_mm, 51.0),
        axial_section(placed, 51.0),
        full_in_nut_mm(nominal_mm),
    )
    assert gaps_equal(gaps, clearance_mm), gaps
    assert gaps.upper_flank_mm == pytest.approx((clearance_mm, clearance_mm), abs=0.01)
    assert gaps.lower_flank_mm == pytest.approx((clearance_mm, clearance_mm), abs=0.01)
    assert gaps.crest_mm == pytest.approx((clearance_mm, clearance_mm), abs=0.01)
    assert gaps.root_mm == pytest.approx((clearance_mm, clearance_mm), abs=0.01)


@pytest.mark.parametrize(
    "wrong",
    [
        # moved, but not turned
        cq.Location(cq.Vector(0, 0, CLAMP_MM)),
        # turned the wrong way
        cq.Location(cq.Vector(0, 0, CLAMP_MM), cq.Vector(0, 0, 1), -360.0 * CLAMP_MM / PITCH_MM),
        # right turn, half a tenth of a millimetre too high
        cq.Location(cq.Vector(0, 0, CLAMP_MM + 0.05), cq.Vector(0, 0, 1), 240.0 * CLAMP_MM),
    ],
    ids=["unturned", "wrong way", "off by 0.05 mm"],
)
def test_a_wrong_phase_is_noticed(wrong: cq.Location) -> None:
    gaps = thread_gaps(
        neck_section(20.0, 51.0),
        axial_section(nut(20.0).moved(wrong), 51.0),
        full_in_nut_mm(20.0),
    )
    assert not gaps_equal(gaps, 0.2)


def test_the_nut_follows_a_neck_that_is_moved_and_turned() -> None:
    turned = cq.Location(cq.Vector(0, 0, 1.1), cq.Vector(0, 0, 1), 77.0)
    place = locknut_location(spec(25.0), CLAMP_MM, neck_z_mm=1.1, neck_angle_deg=77.0)
    gaps = thread_gaps(
        axial_section(neck(25.0).moved(turned), 5.0),
        axial_section(nut(25.0).moved(place), 5.0),
        full_in_nut_mm(25.0),
    )
    assert gaps_equal(gaps, 0.2), gaps


def test_phase_of_whole_and_half_pitches() -> None:
    thread = spec(20.0)
    assert thread_phase_deg(thread, 0.75) == pytest.approx(180.0)
    assert thread_phase_deg(thread, -0.375) == pytest.approx(270.0)
    assert thread_phase_deg(thread, 3.0) == pytest.approx(0.0)


@pytest.mark.parametrize("nominal_mm", [20.0, 40.0, 63.0])
def test_a_bought_6h_nut_clears_the_neck(nominal_mm: float) -> None:
    # The tightest nut of class 6H: all diameters at their lower limits, which are basic (ISO 724).
    limits = spec(nominal_mm).limits_6h
    tightest = ThreadProfile(
        limits.major_min_mm, limits.pitch_diameter_min_mm, limits.minor_min_mm, PITCH_MM
    )
    outline = [
        (radius, z + turn * PITCH_MM)
        for turn in range(-9, 2)
        for radius, z in tightest.points_mm[:-1]
    ]
    metal = Polygon([*outline, (nominal_mm, outline[-1][1]), (nominal_mm, outline[0][1])])
    section = neck_section(nominal_mm, 0.0)
    gaps = thread_gaps(section, metal, FULL_MM)
    assert gaps.overlap_mm2 == 0.0
    # Half the sum of deviation and half tolerance, 0.5 (32 + 70) um at least, normal: times sin 30.
    assert gaps.all_mm[0] > 0.02
    # The printed nut is looser than the metal one, and the metal nut still carries.
    assert gaps.all_mm[1] < 0.2
    assert section.bounds[2] > limits.minor_max_mm / 2.0 + 0.5 * tightest.depth_mm


# --- the locknut -----------------------------------------------------------------------------


def hexagon_volume_mm3(thread: ThreadSpec) -> float:
    """Volume of the unpierced nut: hexagon trimmed by a 30 degree cone, washer face on top."""
    size = locknut_size(thread)
    corners = [
        (math.cos(a) * size.across_corners_mm / 2.0, math.sin(a) * size.across_corners_mm / 2.0)
        for a in (math.radians(60.0 * k) for k in range(6))
    ]
    hexagon = Polygon(corners)
    assert hexagon.bounds[3] == pytest.approx(size.across_flats_mm / 2.0)
    height = size.thickness_mm - size.washer_height_mm
    washer = size.washer_diameter_mm / 2.0
    steps = 400
    volume = math.pi * washer**2 * size.washer_height_mm
    for step in range(steps):
        z = (step + 0.5) / steps * height
        radius = washer + z / math.tan(math.radians(30.0))
        disc = ShapelyPoint(0.0, 0.0).buffer(radius, quad_segs=256)
        volume += hexagon.intersection(disc).area * height / steps
    return volume


@pytest.mark.parametrize("nominal_mm", [20.0, 32.0, 63.0, 75.0])
def test_locknut_is_a_sound_solid(nominal_mm: float) -> None:
    thread = spec(nominal_mm)
    size = locknut_size(thread)
    z = -size.thickness_mm + (np.arange(4000) + 0.5) / 4000 * size.thickness_mm
    mouth = size.countersink_diameter_mm / 2.0
    cones = mouth - np.minimum(z + size.thickness_mm, -z)
    points = np.array(thread.internal.points_mm)
    along = points[0, 1] + (np.arange(2000) + 0.5) / 2000 * PITCH_MM
    groove = np.interp(along, points[:, 1], points[:, 0])
    hole = math.pi * size.thickness_mm * np.mean(np.maximum(groove[None, :], cones[:, None]) ** 2)
    assert_sound(nut(nominal_mm), hexagon_volume_mm3(thread) - hole)
    bounds = nut(nominal_mm).BoundingBox()
    assert (bounds.zmin, bounds.zmax) == pytest.approx((-size.thickness_mm, 0.0), abs=1e-4)
    assert bounds.ylen == pytest.approx(size.across_flats_mm, abs=1e-4)
    assert len(nut(nominal_mm).Faces()) <= 4 * math.ceil(size.thickness_mm / PITCH_MM) + 14


@pytest.mark.parametrize("nominal_mm", [25.0, 63.0])
def test_locknut_thread_measures_as_specified(nominal_mm: float) -> None:
    section = axial_section(nut(nominal_mm), 200.0)
    thickness = locknut_size(spec(nominal_mm)).thickness_mm
    found = thread_sizes(section, (-thickness + 1.2, -1.2), PITCH_MM, internal=True)
    made = spec(nominal_mm).external
    assert found.major_mm == pytest.approx(made.major_mm + 2 * 0.2, abs=0.002)
    assert found.minor_mm == pytest.approx(made.minor_mm + 2 * 0.2, abs=0.002)
    # A normal gap c opens the pitch diameter by 2 c / sin 30.
    assert found.pitch_diameter_mm == pytest.approx(made.pitch_diameter_mm + 4 * 0.2, abs=0.002)
    # Countersunk on both faces to beyond the major diameter.
    for z in (-1e-4, -thickness + 1e-4):
        mouth = section.intersection(box(0.0, z - 1e-6, 99.0, z + 1e-6)).bounds[0]
        assert mouth == pytest.approx(made.major_mm / 2.0 + 0.2 + RELIEF_DEPTH.value, abs=1e-3)


def test_locknut_has_its_washer_face_towards_the_panel() -> None:
    size = locknut_size(spec(32.0))
    top = max(nut(32.0).Faces(), key=lambda face: face.Center().z)
    assert top.geomType() == "PLANE"
    assert top.normalAt().z == pytest.approx(1.0)
    washer, mouth = size.washer_diameter_mm / 2.0, size.countersink_diameter_mm / 2.0
    assert top.Area() == pytest.approx(math.pi * (washer**2 - mouth**2), rel=1e-6)


def test_simplified_locknut_clears_the_simplified_neck() -> None:
    thread = spec(40.0)
    size = locknut_size(thread)
    solid = simplified_locknut(thread)
    hole = math.pi * (thread.internal.major_mm / 2.0) ** 2 * size.thickness_mm
    assert_sound(solid, hexagon_volume_mm3(thread) - hole)
    placed = solid.moved(locknut_location(thread, CLAMP_MM))
    assert not placed.intersect(simplified_neck(thread, 20.0, 30.0)).Solids()
    assert len(solid.Faces()) == 12


def test_no_face_winds_more_than_a_turn_and_a_bit() -> None:
    """Faces of one turn: the kernel's mesher needs time with the square of a face's size.

    By hand: one turn rises by one pitch, an end face may wind a twentieth of a turn more, and the
    face itself and the cone it ends on are up to 0.65 pitches high: 1.7 pitches in all.
    """
    solid = threaded_neck(spec(32.0), 40.0, bore_mm(32.0))
    helical = [f for f in solid.Faces() if f.geomType() == "BSPLINE"]
    assert len(helical) > 4 * 20
    tallest = max(f.BoundingBox().zlen for f in helical)
    assert 1.5 < tallest < 1.7 * 1.5
