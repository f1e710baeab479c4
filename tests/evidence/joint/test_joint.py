"""The joint with the panel: forces by hand, and slits by looking through the fitted solids."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from shapely.geometry import box
from shapely.ops import unary_union

from tests.helpers.following import advised_cells, problems_of, read_row
from tests.helpers.rows import row, spec
from vent_family.base.problems import InputError
from vent_family.evidence.context import PartContext
from vent_family.evidence.joint.kind import JOINT
from vent_family.evidence.joint.report import joint_of
from vent_family.geometry.vent import assembled, build_solids
from vent_family.mesh.regions import regions_of
from vent_family.mesh.slices import Cuts
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.body import Cover, Opening
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec


def test_a_flange_is_clamped_by_its_screws() -> None:
    """92 x 92 mm: a frame 4 mm wide, 1.5 mm off the opening: 103^2 - 95^2 = 1584 mm2 at 0.12 MPa.

    190 N on n screws M4; T = 0.2 F d, of which creep leaves 0.3.
    """
    vent = spec("flanged", size="92x92")
    found = joint_of(vent).gasket
    assert found is not None
    assert found.area_mm2 == pytest.approx(1584.0)
    assert found.clamp_force_n == pytest.approx(190.08)
    count = len(vent.opening.holes)
    assert found.torque_n_m == pytest.approx(0.2 * 190.08 / count * 4.0 / 0.3 / 1000.0)
    assert found.torque_by_hand_n_m == pytest.approx(0.8)
    assert (found.compressed_mm, found.squeeze) == (1.2, pytest.approx(0.4))


def test_a_head_is_clamped_by_its_locknut() -> None:
    """M32: a ring of 35 to 43 mm, 490 mm2, 58.8 N; T = 0.3 F d / 0.3 = F d."""
    found = joint_of(spec("round")).gasket
    assert found is not None
    force = 0.12 * math.pi / 4.0 * (43.0**2 - 35.0**2)
    assert found.clamp_force_n == pytest.approx(force)
    assert found.torque_n_m == pytest.approx(force * 32.0 / 1000.0)
    assert found.torque_by_hand_n_m == pytest.approx(3.2)
    assert joint_of(spec("round")).leak_path == "sealed by its gasket all round"


def bare(reach: tuple[float, float, float, float], notch: float = 0.0) -> VentSpec:
    """Return as much of a vent in an opening of 60 x 40 mm as the joint asks of."""
    opening = Opening("rectangle", (60.0, 40.0), 2400.0, "", (6.6, notch) if notch else None)
    cover = Cover(reach, 1.0, 1.0, "lip_width_mm")
    body = SimpleNamespace(cover=cover, gasket=None, neck=None)
    return cast(VentSpec, SimpleNamespace(opening=opening, body=body))


def test_what_the_cover_leaves_of_the_gap_is_noticed() -> None:
    whole = joint_of(bare((36.0, 36.0, 26.0, 26.0)))
    assert (whole.slit_mm2, whole.overlap_mm) == (0.0, 6.0)
    assert "creeps 6.0 mm behind the cover" in whole.leak_path
    # Flush with the body below, 0.3 mm short of the opening: the whole gap over 60 mm.
    flush = joint_of(bare((36.0, 36.0, 19.7, 26.0)))
    assert flush.slit_mm2 == pytest.approx(18.0)
    assert flush.leak_path.endswith("60 x 0.3 mm at the bottom")
    # Half of the gap, and two sides at once.
    half = joint_of(bare((29.85, 36.0, 19.85, 26.0)))
    assert half.slit_mm2 == pytest.approx(0.15 * 60.0 + 0.15 * 40.0)
    # A notch reaches lower than the edge it is cut into.
    assert joint_of(bare((36.0, 36.0, 26.0, 26.0), 1.8)).overlap_mm == pytest.approx(4.2)


@pytest.mark.parametrize(
    "cells",
    [
        {"size": "40x40", "print_orientation": "upright"},
        {"size": "30x30"},
        {"family": "round", "size": "M20x1.5", "locating_key": "notch", "step_thread": "plain"},
    ],
)
def test_looking_straight_through_the_fitted_vent_shows_as_much(cells: dict[str, Any]) -> None:
    """Sections of all fitted bodies, laid over one another: what stays clear is seen through."""
    vent = spec(**cells)
    placed = assembled(vent, build_solids(vent))
    bodies = [mesh_of(p.shape.moved(p.location), 0.02, 0.1) for p in placed]
    depths = np.linspace(vent.section.inner_z_mm + 0.05, vent.section.front_z_mm - 0.05, 90)
    depths = np.append(depths, -vent.panel_thickness_mm * np.array([0.1, 0.5, 0.9]))
    covered = unary_union([r for mesh in bodies for r in regions_of(Cuts(*mesh, np.sort(depths)))])
    width, height = (side / 2.0 + 2.5 for side in vent.opening.size_mm)
    clear = box(-width, -height, width, height).difference(covered)
    # Rounding of the meshes leaves hairs between slats.
    seen = clear.buffer(-0.05).buffer(0.05).area
    assert joint_of(vent).slit_mm2 == pytest.approx(seen, abs=0.6)


def test_a_lip_takes_a_gasket_and_screws_outside_it() -> None:
    vent = spec(size="60x60", seal="gasket")
    gasket = vent.body.gasket
    assert gasket is not None
    for hole in vent.opening.holes:
        outside = max(abs(hole.x_mm), abs(hole.y_mm)) - gasket.outer_mm[0] / 2.0
        # The washer of M4, 9 mm, keeps off it by the land of 1.5 mm.
        assert outside == pytest.approx(4.5 + 1.5)
    context = PartContext(vent)
    found = context.of(JOINT)
    assert found.gasket is not None
    assert found.slit_mm2 == 0.0
    (check,) = JOINT.checks(context)
    assert check.verdict == "pass"
    (told,) = JOINT.sentences(context)
    assert "pressed from 2 to 1.2 mm, 40 %" in told
    assert "by hand do)" in told
    assert spec(size="60x60").body.gasket is None


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"fixing": "snap"}, "snap arms do not press a gasket"),
        ({"print_orientation": "upright"}, "no room for a gasket below the opening"),
        ({"lip_thickness_mm": 2.0}, "leaves 0.8 mm over the gasket's recess"),
        ({"lip_width_mm": 9.0}, "no room for gasket and M4 screws"),
    ],
)
def test_lips_that_cannot_hold_a_gasket_are_refused_with_advice_that_works(
    cells: dict[str, Any], words: str
) -> None:
    made = row(**cells, seal="gasket")
    with pytest.raises(InputError, match=words) as refused:
        resolve(made)
    problem = refused.value.problems[0]
    typed = {name: value for name, value in made if value is not None}
    assert problem.suggestion
    assert problems_of(read_row(typed | advised_cells(problem.suggestion))) == ()
