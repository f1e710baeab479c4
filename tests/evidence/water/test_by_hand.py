"""Water on whole parts, by hand: tilt, a jet on one bay, films, the floor of a round head."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from tests.evidence.water.test_assess import conditions
from tests.helpers.meshes import section_at_x, trimesh_of
from tests.helpers.rows import spec
from tests.helpers.water import judged
from vent_family.evidence.water import boundary
from vent_family.evidence.water.splash import BRACKET, SplashModel, secondary_drops
from vent_family.geometry.vent import build_solids
from vent_family.spec.vent import VentSpec

WATER_N_M3 = 998.2 * 9.80665


def bay_edges(part: VentSpec) -> tuple[np.ndarray, float]:
    """Return the corners of the lower boundary beside the stack, and a bay's clear width, mm.

    Both are measured on the finished solid, in the middle of a bay and across it.
    """
    mesh = trimesh_of(build_solids(part).vent)
    low, high = part.bays[len(part.bays) // 2]
    islands = section_at_x(mesh, (low + high) / 2 + 0.013)
    bottom = min(islands, key=lambda p: p.bounds[1])
    return np.array(bottom.exterior.coords), high - low


def test_a_mounting_out_of_true_must_hold_too() -> None:
    """The pool stays under an upright sill; leaning back and rolled by 3 degrees it runs over.

    By hand: leaning back by a turns the floor about the drain's edge, so the sill sinks by the
    floor's length times sin a; rolling lifts the pool on one side by half a bay times tan a.
    """
    part = spec("rectangular", size="60x60", sill_height_mm=6.0, slat_foot_mm=0.0)
    calm = judged(part, conditions("dripping", depression_pa=0.0))
    corners, bay = bay_edges(part)
    front = corners[:, 0].max()
    # The foot of the sill: the floor runs up to it from the drain's edge at 5 degrees.
    drain = corners[np.abs(corners[:, 0] - front) < 1e-3][:, 1].max()
    on_floor = [
        z
        for z, y in corners
        if abs(y - drain - (front - z) * math.tan(math.radians(5.0))) < 1e-3 and z < front - 5.0
    ]
    length = front - min(on_floor)
    sinks = length * math.sin(math.radians(3.0)) + bay / 2.0 * math.tan(math.radians(3.0))
    assert 1.0 < sinks < 3.0
    # A depression between what the upright and the tilted sill bear, with the millimetre to spare
    # that an upright one must keep.
    spare = calm.drainage.margin_mm
    over = judged(
        part, conditions("dripping", depression_pa=(spare - sinks + 0.3) * 1e-3 * WATER_N_M3)
    )
    under = judged(
        part, conditions("dripping", depression_pa=(spare - sinks - 0.3) * 1e-3 * WATER_N_M3)
    )
    assert over.drainage.margin_mm > 1.0
    assert under.verdict.outcome == "holds"
    assert over.verdict.outcome == "marginal"
    assert over.verdict.mechanism == "mounting tilt"


@pytest.mark.parametrize(
    ("exposure", "strip_mm"),
    # Widths of the wetted strip stand beside the nozzles: house assumption.
    [("jets", 40.0), ("hose_down", 60.0)],
)
def test_a_jet_floods_the_bay_it_strikes(exposure: str, strip_mm: float) -> None:
    """A strip of water puts a bay's width over its own width into the bay in its middle.

    By hand: of a flow Q the bay gets Q times bay over strip, so what the whole vent holds back is
    a bay's own capacity divided by that share; water spread evenly is held back by all bays.
    """
    part = spec("flanged", size="150x60")
    bays = len(part.bays)
    bay = part.bays[0][1] - part.bays[0][0]
    assert bays * bay > strip_mm > bay
    spread = judged(part, conditions("rain"))
    jet = judged(part, conditions(exposure))
    one_bay = spread.drainage.capacity_l_min / bays
    assert jet.drainage.capacity_l_min == pytest.approx(one_bay / (bay / strip_mm), rel=1e-6)
    assert jet.drainage.capacity_l_min < 0.7 * spread.drainage.capacity_l_min


def test_water_left_standing_is_films_of_a_tenth_of_a_millimetre_and_hanging_rims() -> None:
    """0.1 mm of film on all slats (common practice, no source), their surface measured.

    A rim under each slat is half a disc one capillary length, 2.7 mm, across. What cannot drain
    besides is the pool that surface tension and the fan hold, known from the drainage.
    """
    part = spec("rectangular", size="60x60")
    mesh = trimesh_of(build_solids(part).vent)
    low, high = part.bays[len(part.bays) // 2]
    slats = [p for p in section_at_x(mesh, (low + high) / 2 + 0.013) if p.area < 60.0]
    assert len(slats) > 10
    width = sum(b - a for a, b in part.bays)
    around = sum(p.exterior.length for p in slats)
    film = around * width * 0.1 * 1e-6
    rims = len(slats) * width * math.pi * 2.73**2 / 8.0 * 1e-6
    rain = judged(part, conditions("driving_rain"))
    held = rain.balance.held_l
    assert held < 0.9 * rain.balance.in_l
    pool = rain.drainage.held_l
    # Slats that grow out of the ceiling are no islands of the section: up to a quarter more.
    assert 1.0 <= (held - pool) / (film + rims) < 1.25


@pytest.mark.parametrize("model", BRACKET)
def test_secondary_drops_keep_their_part_of_the_speed_along_the_wall(model: SplashModel) -> None:
    """0.6 of the speed along the wall and 0.4 of the whole speed in directions that cancel out.

    Ranges of Mundo et al. 1995 and Bai and Gosman 1996 as named in the module, from memory.
    """
    floor = np.array([[0.0, 0.0, 10.0, 0.0]])
    zero = np.zeros(1)
    child = secondary_drops(
        model, floor, zero, zero, np.array([-5.0]), np.array([-3.0]), np.array([2.0])
    )
    assert child.w_m_s.size == 6
    assert float(child.w_m_s.mean()) == pytest.approx(0.6 * -5.0)
    own = np.hypot(child.w_m_s - 0.6 * -5.0, child.v_m_s)
    assert own == pytest.approx(np.full(6, 0.4 * math.hypot(5.0, 3.0)))
    assert child.v_m_s.min() > 0.0
    # They start in the air, a hair off the wall they were thrown from.
    assert 0.0 < child.y_mm.min() <= child.y_mm.max() < 0.1


HEADS = {
    "high sill": {"size": "M20x1.5", "sill_height_mm": 12.0},
    "higher sill": {"size": "M32x1.5", "sill_height_mm": 16.0, "rib_count": 2},
    "large": {"size": "M63x1.5", "sill_height_mm": 12.0},
    "steep floor": {"size": "M63x1.5", "floor_slope_deg": 8.0},
}


@pytest.mark.parametrize("name", HEADS)
def test_the_floor_of_a_round_head_falls_all_the_way_from_its_plate(name: str) -> None:
    """On the solid, the bottom climbs inwards from the drain to the plate, which is the sill.

    It climbs by the floor's slope or more, and ends at a wall as high as the bore's lower edge:
    nothing behind it keeps water. Below a rib the bottom is the same, or the round wall above it.
    """
    part = spec("round", **HEADS[name])
    mesh = trimesh_of(build_solids(part).vent)
    head = part.body.head  # type: ignore[attr-defined]
    plate, front = head.plate_z_mm, part.section.front_z_mm

    def bottom(x: float) -> Polygon:
        return min(section_at_x(mesh, x), key=lambda p: p.bounds[1])

    middle = bottom(0.013)
    profile = heights(middle, front - 0.5, plate + 0.1)
    climbs = [y1 - y0 for (_, y0), (_, y1) in itertools.pairwise(profile)]
    assert len(climbs) > 150
    # Every tenth of a millimetre.
    assert (
        min(climbs) >= 0.1 * math.tan(math.radians(HEADS[name].get("floor_slope_deg", 5.0))) - 1e-6
    )
    # The wall behind it: bevel and steps of the hole take no more than 3 mm off its top.
    ((_, wall),) = heights(middle, plate - 0.5, plate - 0.55)
    sill = max(y for _, y in heights(middle, 0.0, -2.0))
    assert profile[-1][1] + 3.0 < wall < sill < wall + 3.0
    x = part.bays[len(part.bays) // 2][1] + 0.5 * part.rib_thickness_mm
    curve = -math.sqrt(head.inner_radius_mm**2 - x**2)
    # The channel ends where the rib has its windows.
    inner = plate + head.corner_mm
    below = heights(bottom(x), front - 0.5, inner)
    for (_, found), (_, floor) in zip(below, profile, strict=False):
        assert found == pytest.approx(max(floor, curve), abs=0.02)


def heights(bottom: Polygon, front: float, back: float) -> list[tuple[float, float]]:
    """Return (z, height of the bottom) from front to back, every tenth of a millimetre."""
    found = []
    for z in np.arange(front, back, -0.1):
        met = bottom.intersection(LineString([(z, -1e3), (z, 1e3)]))
        pieces = [p for p in getattr(met, "geoms", [met]) if not p.is_empty]
        lowest = min(pieces, key=lambda p: p.bounds[1])
        found.append((float(z), float(lowest.bounds[3])))
    return found


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_secondary_drops_start_on_the_side_their_parent_came_from(side: float) -> None:
    """An upright wall hit from the right and from the left."""
    wall = np.array([[2.0, 0.0, 2.0, 10.0]])
    at = np.array([2.0]), np.array([5.0])
    w, v = np.array([-4.0 * side]), np.array([-1.0])
    child = secondary_drops(BRACKET[0], wall, *at, w, v, np.array([2.0]))
    assert (side * (child.z_mm - 2.0) > 0.0).all()
    assert np.abs(child.z_mm - 2.0).max() < 0.1
    assert (side * child.w_m_s > 0.0).all()


def test_search_cells_do_not_change_where_water_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cells only spare the search: with one cell as large as the section the answer is the same."""
    wet = conditions("splashing", face_velocity_m_s=3.0)
    passed = []
    for size in (boundary.CELL_MM, 1000.0):
        monkeypatch.setattr(boundary, "CELL_MM", size)
        boundary.boundary_of.cache_clear()
        passed.append(judged(spec(slat_form="inclined"), wet).passed_l.high)
    boundary.boundary_of.cache_clear()
    assert passed[0] == pytest.approx(passed[1], rel=1e-9)
