"""The exact straight-path test against cases with known answers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from tests.helpers.rows import spec
from vent_family.spec.choice import StackChoice, closing_stacks, endless_margin
from vent_family.spec.forms import IN, OUT
from vent_family.spec.sightlines import nearest_between, sight_margin
from vent_family.spec.stack import Stack, uncovered_fraction

WALLS = {"lower": ((-10.0, 0.0), (0.0, 0.0)), "upper": ((-10.0, 8.0), (0.0, 8.0))}


def square(z: float, y0: float, y1: float, depth: float = 1.0) -> list[tuple[float, float]]:
    return [(z, y0), (z + depth, y0), (z + depth, y1), (z, y1)]


def test_empty_channel_is_open_over_its_full_height() -> None:
    result = sight_margin([], **WALLS)
    assert result.is_open
    assert -result.margin_mm == pytest.approx(8.0)
    assert result.elevation_deg == pytest.approx(0.0)


def test_plate_across_the_channel_closes_it_by_its_overlap() -> None:
    # A plate touching both walls leaves nothing; beyond the walls it has nothing to cover.
    result = sight_margin([square(-5.0, -1.0, 9.0)], **WALLS)
    assert not result.is_open


def test_one_level_slot_is_seen_with_its_width() -> None:
    plates = [square(-5.0, -1.0, 3.0), square(-5.0, 4.5, 9.0)]
    result = sight_margin(plates, **WALLS)
    # The widest strip through a slot 1.5 mm high in a thick plate is the level one.
    assert -result.margin_mm == pytest.approx(1.5)


def test_tilted_slot_between_two_offset_plates() -> None:
    """The widest strip through two thin offset slots, from elementary geometry."""
    thin = 1e-6
    plates = [
        square(-9.0, -1.0, 2.0, thin),
        square(-9.0, 3.0, 9.0, thin),
        square(-1.0, -1.0, 5.0, thin),
        square(-1.0, 6.0, 9.0, thin),
    ]
    result = sight_margin(plates, **WALLS)
    slope = math.atan2(3.0, 8.0)
    assert -result.margin_mm == pytest.approx(math.cos(slope), abs=1e-4)
    assert result.elevation_deg == pytest.approx(-math.degrees(slope), abs=0.01)


def test_overlap_of_two_plates_is_the_margin_of_the_level_line() -> None:
    # Lower plate up to 5, upper plate down to 4, touching: level lines overlap by 1 mm; no
    # tilted line can pass since the plates touch in depth.
    plates = [square(-6.0, -1.0, 5.0), square(-5.0, 4.0, 9.0)]
    result = sight_margin(plates, **WALLS)
    assert not result.is_open
    assert result.margin_mm <= 1.0


def test_walls_must_span_the_same_depth() -> None:
    with pytest.raises(ValueError, match="same positive depth"):
        sight_margin([], ((0.0, 0.0), (10.0, 0.0)), ((0.0, 5.0), (9.0, 5.0)))


def sampled_and_exact(seed: int) -> tuple[bool, bool]:
    """Return whether one of 4,000 random lines passes random plates, and the exact answer."""
    rng = np.random.default_rng(seed)
    solids = []
    for _ in range(rng.integers(1, 9)):
        z, y = rng.uniform(-9.5, -1.5), rng.uniform(-1.0, 8.0)
        solids.append(square(z, y, y + rng.uniform(0.2, 4.0), rng.uniform(0.1, 1.4)))
    exact = sight_margin(solids, **WALLS)
    inner, outer = rng.uniform(0.0, 8.0, 4000), rng.uniform(0.0, 8.0, 4000)
    free = np.ones(4000, dtype=bool)
    for solid in solids:
        offsets = [y - (inner + (outer - inner) * (z + 10.0) / 10.0) for z, y in solid]
        free &= (np.min(offsets, axis=0) > 0) | (np.max(offsets, axis=0) < 0)
    return bool(free.any()), exact.is_open


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_never_closed_where_a_sampled_line_passes(seed: int) -> None:
    """Sampling can only find paths, never prove their absence: it must not beat the exact test."""
    sampled, exact = sampled_and_exact(seed)
    assert exact or not sampled


def test_sampling_meets_open_and_closed_sections() -> None:
    answers = [sampled_and_exact(seed) for seed in range(60)]
    assert sum(sampled for sampled, _ in answers) >= 20
    assert not all(exact for _, exact in answers)


def stack(form: str, slopes: tuple[int, ...], gap: float = 3.0, **other: float) -> Stack:
    values = {"pitch": 6.5, "height": 6.75, "thickness": 1.5} | other
    return Stack(
        form,  # type: ignore[arg-type]
        values["thickness"],
        values["pitch"],
        values["height"],
        (gap,) * (len(slopes) - 1),
        0.5,
        slopes,
    )


def test_equal_slopes_leave_a_path_near_45_degrees_and_alternating_ones_close_it() -> None:
    same = endless_margin(stack("inclined", (OUT, OUT, OUT)))
    assert same.is_open
    # From bank to bank, half a pitch shifted, such a line climbs half a pitch or one and a half.
    bank = 6.75 - 1.5 * math.sqrt(2.0) + 3.0
    assert same.elevation_deg == pytest.approx(math.degrees(math.atan(9.75 / bank)), abs=1.0)
    assert not endless_margin(stack("inclined", (OUT, IN, OUT))).is_open


def test_half_pitch_alone_does_not_close_flat_plates() -> None:
    """The line that climbs half a pitch per bank passes equal gaps, whatever the bank count."""
    plates = stack("flat", (OUT,) * 4, 4.0, pitch=12.0, height=9.0)
    found = endless_margin(plates)
    assert found.is_open
    slope = math.degrees(math.atan(6.0 / 5.5))
    assert abs(found.elevation_deg) == pytest.approx(slope, abs=3.0)
    repaired = next(closing_stacks(StackChoice(plates, free_slopes=True, free_gaps=True)))
    assert repaired.gaps_mm[0] > repaired.gaps_mm[1]
    assert not endless_margin(repaired).is_open


def test_chosen_slopes_shed_water_outwards_at_the_innermost_bank() -> None:
    for banks in (2, 3, 4, 5):
        chosen = next(
            closing_stacks(
                StackChoice(stack("inclined", (OUT,) * banks), free_slopes=True, free_gaps=True)
            )
        )
        assert chosen.slopes[-1] == OUT


@pytest.mark.parametrize(
    ("shift", "banks", "share"), [(0.5, 1, 1.0), (0.5, 4, 0.5), (1 / 3, 3, 1 / 3), (0.25, 2, 0.75)]
)
def test_uncovered_share_of_a_pitch(shift: float, banks: int, share: float) -> None:
    assert uncovered_fraction(shift, banks) == pytest.approx(share)


def test_a_line_along_a_wall_shows_nobody_what_stops_it() -> None:
    """Thin posts, one on the floor, one sunk 0.2 mm into the ceiling: 0.5 mm to level lines."""
    posts = [square(-5.0, -1.0, 4.5, 1e-6), square(-5.000002, 4.0, 8.2, 1e-6)]
    nearest, between = sight_margin(posts, **WALLS), nearest_between(posts, **WALLS)
    assert nearest.margin_mm == pytest.approx(0.2)
    assert nearest.line[0][1] > 8.0
    assert between is not None
    # The steepest line of all over the post's end, 4.5 mm high, touches the ceiling 5 mm farther.
    assert between.margin_mm == pytest.approx(0.5 * math.cos(math.atan(3.5 / 5.0)), abs=1e-5)
    assert between.line[0][1] + 0.5 * (between.line[1][1] - between.line[0][1]) == pytest.approx(
        4.25, abs=0.01
    )
    assert nearest_between([square(-5.0, -1.0, 9.0)], **WALLS) is None


@pytest.mark.parametrize(
    "cells", [{"size": "80x60"}, {"family": "round"}, {"size": "50x50", "slat_form": "folded"}]
)
def test_the_line_drawn_runs_through_open_air(cells: dict[str, object]) -> None:
    """Measured by another library: it meets the cavity along its length, and slats stop it shortly.

    Where the nearest line of all lies within the ceiling it meets no air at all.
    """
    section = spec(**cells).section
    found = nearest_between(section.pieces, section.lower, section.upper)
    assert found is not None
    assert found.margin_mm >= section.sight.margin_mm - 1e-9
    line = LineString(found.line)
    cavity = Polygon([*section.lower, *reversed(section.upper)])
    assert line.intersection(cavity).length > 0.98 * line.length
    stopped = sum(line.intersection(Polygon(p)).length for p in section.pieces)
    assert 0.0 < stopped < 0.5 * line.length
