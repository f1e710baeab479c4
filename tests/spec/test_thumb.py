"""Bays narrow enough for a thumb, against sections summed up from small cells."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import contains_xy
from shapely.geometry import Polygon

from tests.helpers.rows import spec
from vent_family.base.limits import THUMB_LOAD, THUMB_RESERVE, THUMB_WIDTH
from vent_family.base.materials import MATERIALS
from vent_family.base.problems import InputError
from vent_family.spec.forms import Outline
from vent_family.spec.stack import Stack
from vent_family.spec.thumb import thumb_bay_mm

STACKS = {
    "planks": Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1)),
    "planks upright": Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1), foot_mm=0.9),
    "thick planks": Stack("inclined", 2.5, 9.0, 8.0, (3.0, 3.0), 0.5, (1, -1, 1)),
    "flat": Stack("flat", 1.5, 12.0, 9.0, (9.0, 4.0, 4.0), 0.5, (1, 1, 1, 1)),
    "folded": Stack("folded", 1.5, 8.0, 7.0, (3.0,), 0.5, (1, 1)),
}


def stress_mpa(leaf: Outline, moment_nmm: float) -> float:
    """Return the largest stress in a section bent by a push along z, from small cells."""
    shape = Polygon(leaf)
    z0, y0, z1, y1 = shape.bounds
    dz, dy = (z1 - z0) / 601, (y1 - y0) / 701
    z, y = np.meshgrid(z0 + dz * (np.arange(601) + 0.5), y0 + dy * (np.arange(701) + 0.5))
    inside = contains_xy(shape, z, y)
    z, y = z[inside], y[inside]
    middle = np.array([z.mean(), y.mean()])
    z, y = z - middle[0], y - middle[1]
    zz, yy, zy = ((a * b).sum() * dz * dy for a, b in ((z, z), (y, y), (z, y)))
    corners = np.asarray(leaf) - middle
    # Unsymmetrical bending about y: sigma = M (z Iyy - y Izy) / (Izz Iyy - Izy^2).
    sigma = (corners[:, 0] * yy - corners[:, 1] * zy) / (zz * yy - zy**2)
    return float(moment_nmm * np.abs(sigma).max())


@pytest.mark.parametrize("material", ["ASA", "PETG"])
@pytest.mark.parametrize("name", STACKS)
def test_a_slat_in_such_a_bay_has_the_strength_in_hand(name: str, material: str) -> None:
    """Fixed ends, the load spread over the middle: M = W (3 L^2 - c^2) / (24 L), from memory."""
    stack = STACKS[name]
    span, load, spread = thumb_bay_mm(stack, material), THUMB_LOAD.value, THUMB_WIDTH.value
    assert span > spread
    moment = load * (3.0 * span**2 - spread**2) / (24.0 * span)
    leaves = stack.shape.leaves(stack.slat_box(0, 0.0))
    stress = max(stress_mpa(leaf, moment) for leaf in leaves)
    profile = MATERIALS[material].print_profile
    safety = profile.in_layer_mpa / stress
    assert safety == pytest.approx(profile.safety_min * THUMB_RESERVE.value, rel=0.01)


def test_ribs_stand_as_close_as_a_thumb_asks_and_no_closer() -> None:
    """A cavity of 75.4 mm with ribs of 1.6 mm: two leave 24.1 mm, three 17.7 mm."""
    sharp = spec("rectangular", size="80x60", slat_foot_mm=0.0)
    assert 17.7 < thumb_bay_mm(sharp.section.stack, "ASA") < 24.1
    assert sharp.rib_count == 3
    # Slats on feet are deeper, and bear a thumb over more than they can bridge: 25 mm.
    feet = spec("rectangular", size="80x60")
    assert thumb_bay_mm(feet.section.stack, "ASA") > 24.1
    assert feet.rib_count == 2
    # So do thicker sharp ones.
    thick = spec("rectangular", size="80x60", slat_thickness_mm=2.0, pitch_mm=8.0, slat_foot_mm=0.0)
    assert thick.rib_count == 2
    # Thin ones never do, and stop at the thumb's width: four ribs leave 13.8 mm, three 17.7 mm.
    assert spec("rectangular", size="80x60", slat_thickness_mm=0.7).rib_count == 4


def test_a_given_rib_count_is_kept() -> None:
    assert spec("rectangular", size="80x60", slat_thickness_mm=0.7, rib_count=2).rib_count == 2


@pytest.mark.parametrize("form", ["inclined", "folded"])
def test_planks_thinner_than_two_beads_allow_are_refused_face_down(form: str) -> None:
    """Two beads of 0.45 mm over sqrt 2 are 0.636 mm; flat slats print to 0.5 mm."""
    with pytest.raises(InputError) as refused:
        spec(slat_form=form, slat_thickness_mm=0.63)
    (problem,) = refused.value.problems
    assert problem.column == "slat_thickness_mm"
    assert "0.64 mm or more" in (problem.allowed or "")
    assert spec(slat_form=form, slat_thickness_mm=0.64).section.stack.thickness_mm == 0.64
    assert spec("round", slat_form="flat", slat_thickness_mm=0.5).section.closed
