"""Screens as solids: they print, fit without touching, hold the mesh and leave their windows open.

Measured on plane sections of the fitted bodies' meshes, and on the frame's own layers.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations

import cadquery as cq
import numpy as np
import pytest
from shapely.affinity import translate
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from tests.helpers.rows import spec
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.carried import support_checks
from vent_family.evidence.printing.report import printing_report
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.geometry.vent import VentSolids, assembled, build_solids
from vent_family.mesh.regions import regions_of
from vent_family.mesh.slices import Cuts
from vent_family.mesh.triangles import mesh_of
from vent_family.mesh.vent import meshes_of, printed_beside
from vent_family.spec.vent import VentSpec

CASES = {
    "lip": {"family": "rectangular", "size": "40x40", "wall_mm": 1.2, "rib_count": 2},
    "snap": {"family": "rectangular", "size": "40x40", "fixing": "snap"},
    "coarse": {"family": "flanged", "size": "45x40", "locating_key": "notch", "screen_mm": 4.0},
    # Behind this panel the neck's thread comes to the ring nearly a third of a turn on.
    "neck": {
        "family": "round",
        "size": "M20x1.5",
        "slat_form": "folded",
        "bank_count": 1,
        "overlap_mm": 3.5,
        "panel_thickness_mm": 3.0,
    },
    "plain": {"family": "round", "size": "M25x1.5", "bank_count": 3, "step_thread": "plain"},
}
Region = Polygon | MultiPolygon


@cache
def made(case: str) -> tuple[VentSpec, VentSolids, dict[str, tuple[np.ndarray, np.ndarray]]]:
    """Return a vent, its solids, and the meshes of its fitted bodies."""
    vent = spec(**{"screen_mm": 1.0, **CASES[case]})
    solids = build_solids(vent)
    placed = {p.name: p.shape.moved(p.location) for p in assembled(vent, solids)}
    return vent, solids, {name: mesh_of(shape, 0.01, 0.1) for name, shape in placed.items()}


def sections(case: str, z: float) -> dict[str, Region]:
    """Return the fitted bodies' sections at a depth, those that are met."""
    _, _, bodies = made(case)
    found = {name: regions_of(Cuts(*mesh, np.array([z])))[0] for name, mesh in bodies.items()}
    return {name: region for name, region in found.items() if region.area > 0.0}


def depths(case: str) -> np.ndarray:
    """Return depths from the vent's inner end on backwards, through mesh and frame."""
    vent, _, bodies = made(case)
    back = bodies["screen-frame"][0][:, 2].min()
    front = max(bodies["screen-frame"][0][:, 2].max(), vent.section.inner_z_mm + 0.5)
    return np.linspace(back + 0.013, front - 0.017, 17)


@pytest.mark.parametrize("case", CASES)
def test_nothing_touches_and_the_frame_is_held(case: str) -> None:
    for z in depths(case):
        for (one, a), (two, b) in combinations(sections(case, z).items(), 2):
            assert a.intersection(b).area < 1e-3, (one, two, z)
    vent, _, bodies = made(case)
    screen = vent.body.screen
    assert screen is not None
    if vent.body.neck is not None and not vent.body.neck.true_thread:
        return  # its thread is left out of the fitted bodies
    corners, faces = bodies["screen-frame"]
    pulled = (corners - np.array([0.0, 0.0, 0.8]), faces)
    # In rails the mesh lies folded round the frame, so much thicker across a face of 45 degrees.
    fold = 0.0 if screen.rails is None else screen.mesh.thickness_mm * math.sqrt(2.0)
    clear = box(-99.0, 0.0, 99.0, 15.0)
    overlap = 0.0
    for z in depths(case):
        own, other = (regions_of(Cuts(*m, np.array([z])))[0] for m in (bodies[""], pulled))
        reach = unary_union([translate(other, x) for x in np.linspace(-fold, fold, 9)])
        overlap += own.intersection(reach).intersection(clear).area
    # Pulled straight off, rails or threads are in its way.
    assert overlap > 0.5


@pytest.mark.parametrize("case", ["lip", "snap", "coarse"])
def test_a_frame_slides_up_and_out_and_stands_on_its_ledge(case: str) -> None:
    low = 0.0
    for z in depths(case):
        found = sections(case, z)
        if "screen-frame" not in found or "" not in found:
            continue
        for up in (1.0, 7.0, 25.0):
            raised = translate(found["screen-frame"], 0.0, up)
            assert raised.intersection(found[""]).area < 1e-3
        low += translate(found["screen-frame"], 0.0, -0.4).intersection(found[""]).area
    assert low > 1.0


@pytest.mark.parametrize("case", CASES)
def test_the_windows_are_as_large_as_told_and_open_to_the_cavity(case: str) -> None:
    vent, _, bodies = made(case)
    screen = vent.body.screen
    assert screen is not None
    back = bodies["screen-frame"][0][:, 2].min() + 0.3
    frame = sections(case, back)["screen-frame"]
    holes = [Polygon(ring) for ring in frame.interiors]
    told = screen.window_mm2(vent.section, vent.bays)
    assert sum(h.area for h in holes) == pytest.approx(told, rel=2e-3)
    # Just before the mesh nothing of the vent stands in them, but for chords of two round meshes.
    inner = sections(case, vent.section.inner_z_mm + 0.01)[""]
    assert sum(h.intersection(inner).area for h in holes) < 0.1
    # The mesh closes every window, and its rim is held all round.
    mesh = sections(case, screen.z_mm)["mesh"]
    for hole in holes:
        assert mesh.buffer(1e-6).contains(hole.buffer(0.9))


@pytest.mark.parametrize("case", CASES)
def test_solids_are_valid_and_of_the_volume_they_should_have(case: str) -> None:
    vent, solids, _ = made(case)
    frame = solids.screen_frame
    assert frame is not None
    for solid in (solids.vent, frame, solids.mesh_fitted):
        assert isinstance(solid, cq.Solid)
        assert solid.isValid()
    mark = 40.0
    assert solids.vent.Volume() == pytest.approx(estimate_volume_mm3(vent), abs=mark, rel=2e-3)
    vertices, triangles = meshes_of(solids)["screen-frame"]
    corners = vertices[triangles]
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6
    assert volume == pytest.approx(frame.Volume(), rel=5e-3)
    edges = np.sort(
        np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    )
    assert (np.unique(edges, axis=0, return_counts=True)[1] == 2).all()


def test_a_ring_has_a_turn_and_a_half_of_thread_on_the_neck() -> None:
    vent, _, bodies = made("neck")
    assert vent.body.neck is not None
    ring, end = bodies["screen-frame"][0], -vent.body.neck.length_mm
    on_neck = ring[:, 2].max() - end
    pitch = vent.body.neck.thread.pitch_mm
    # Countersink and the neck's own chamfer take a thread's depth each.
    assert on_neck - 2.0 * 1.03 > 1.0 * pitch
    assert ring[:, 2].max() < bodies["locknut"][0][:, 2].min() + 1e-6
    assert math.hypot(*ring[:, :2].T.max(axis=1)) > 10.0


@pytest.mark.parametrize("case", ["snap", "neck"])
def test_frames_and_rails_print_without_supports(case: str) -> None:
    vent, solids, _ = made(case)
    meshes = meshes_of(solids)
    report = printing_report(vent, meshes[""], printed_beside(meshes), demo_shop())
    frame = report.beside["screen-frame"]
    for name, body in (("vent", report.vent), ("frame", frame)):
        assert all(check.verdict == "pass" for check in support_checks(name, body)), name
    members = {share.name: share for share in report.masses.shares}
    if vent.body.neck is None:
        assert members["screen rails"].mass_g > 0.3
    assert report.masses.missed_mm3 < 1e-3 * report.vent.layers.volume_mm3
