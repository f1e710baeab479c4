"""The key on a round vent's neck, by plane sections: it goes into its hole TOP up and only so."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.affinity import rotate
from shapely.geometry import Point

from tests.helpers.rows import spec
from vent_family.geometry.opening import panel_piece
from vent_family.geometry.vent import build_solids
from vent_family.mesh.regions import regions_of
from vent_family.mesh.slices import Cuts
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.families.round import RoundBody


def test_it_goes_in_upright_and_no_other_way_and_clears_its_notch() -> None:
    """M20: hole of 20.6 mm; key 6 mm wide, down to 11 mm; notch 6.6 mm wide, down to 11.3 mm."""
    cells = {"size": "M20x1.5", "slat_form": "folded", "bank_count": 1, "step_thread": "plain"}
    cells |= {"overlap_mm": 3.5}
    keyed, plain = (spec("round", locating_key=key, **cells) for key in ("notch", "none"))
    assert keyed.opening.text() == (
        "round hole, diameter 20.6 mm, notch 6.6 x 1 mm at its lowest point"
    )
    solids, bare = build_solids(keyed), build_solids(plain)
    assert solids.vent.isValid()
    at = np.array([-0.4])
    neck, panel = (
        regions_of(Cuts(*mesh_of(solid, 0.01, 0.1), at))[0]
        for solid in (solids.vent_step, panel_piece(keyed))
    )
    assert neck.distance(panel) == pytest.approx(0.3, abs=0.02)
    for turn in (8.0, 30.0, 90.0, 180.0, 270.0):
        assert rotate(neck, turn, origin=(0.0, 0.0)).intersection(panel).area > 1.0, turn
    # Without it the neck turns freely.
    round_neck = regions_of(Cuts(*mesh_of(bare.vent_step, 0.01, 0.1), at))[0]
    assert round_neck.within(Point(0.0, 0.0).buffer(10.3))
    assert keyed.opening.area_mm2 == plain.opening.area_mm2
    body = keyed.body
    assert isinstance(body, RoundBody)
    assert body.key is not None
    added = solids.vent.Volume() - bare.vent.Volume()
    assert added == pytest.approx(body.key.volume_mm3(), rel=0.01)
    # It stays clear of thread and locknut, and inside the gasket.
    behind = regions_of(Cuts(*mesh_of(solids.vent_step, 0.01, 0.1), np.array([-0.9])))[0]
    assert behind.within(Point(0.0, 0.0).buffer(10.3))
    assert body.key.depth_mm < keyed.panel_thickness_mm
    assert np.hypot(body.key.width_mm / 2, body.key.reach_mm) < body.gasket.inner_mm[0] / 2


def test_a_thin_panel_is_thicker_than_its_key() -> None:
    body = spec("round", locating_key="notch", panel_thickness_mm=0.5).body
    assert isinstance(body, RoundBody)
    assert body.key is not None
    assert body.key.depth_mm == pytest.approx(0.4)
