"""The search for the nearest line against every slope of two corners, looked at one by one."""

from __future__ import annotations

import itertools
import math
from random import Random

import pytest

from tests.helpers.rows import spec
from vent_family.base.limits import SIGHT_MARGIN_MIN
from vent_family.spec.sightlines import all_miss_by, padded, sight_margin

Corner = tuple[float, float]
DEPTH, HEIGHT = 20.0, 12.0
LOWER = ((-DEPTH, 1.0), (-8.0, -0.5), (0.0, 0.0))
UPPER = ((-DEPTH, HEIGHT - 2.0), (0.0, HEIGHT))


def free_width(slope: float, solids: list[list[Corner]]) -> float:
    """Return the widest gap (mm) that shadows leave to lines of a slope; negative: cover."""
    shadows = sorted(
        (min(y - slope * z for z, y in solid), max(y - slope * z for z, y in solid))
        for solid in solids
    )
    at = max(y - slope * z for z, y in LOWER)
    roof = min(y - slope * z for z, y in UPPER)
    widest = -math.inf
    for low, high in shadows:
        widest = max(widest, min(low, roof) - at)
        at = max(at, high)
    return max(widest, roof - at) / math.hypot(1.0, slope)


def margin_of_all_slopes(solids: list[list[Corner]]) -> float:
    """Return the margin (mm) over all lines through, and strips between, two corners."""
    corners = [*itertools.chain(*solids), *LOWER, *UPPER]
    steepest = (UPPER[-1][1] - LOWER[0][1]) / DEPTH
    shallowest = (LOWER[-1][1] - UPPER[0][1]) / DEPTH
    slopes = {0.0, steepest, shallowest}
    for (z0, y0), (z1, y1) in itertools.combinations(corners, 2):
        slopes |= {(y1 - y0) / (z1 - z0)} if z0 != z1 else set()
        slopes |= {-(z1 - z0) / (y1 - y0)} if y0 != y1 else set()
    inside = [slope for slope in slopes if shallowest <= slope <= steepest]
    return -max(free_width(slope, solids) for slope in inside)


def banks(random: Random) -> list[list[Corner]]:
    """Return two or three banks of boxes and a leaning plank, closed or nearly."""
    solids = []
    pitch, height = random.uniform(3.0, 5.0), random.uniform(2.5, 4.5)
    for bank in range(random.randint(2, 3)):
        z = -3.0 - 5.0 * bank - random.uniform(0.0, 2.0)
        first = -4.0 + pitch * (0.5 * bank + random.uniform(0.0, 0.2))
        thick = random.uniform(0.5, 2.0)
        for k in range(6):
            y = first + k * pitch
            solids.append([(z, y), (z + thick, y), (z + thick, y + height), (z, y + height)])
    y = random.uniform(0.0, 9.0)
    solids.append([(-2.0, y), (-1.0, y - 1.0), (-1.0, y)])
    return solids


@pytest.mark.parametrize("seed", range(40))
def test_margin_and_answers_are_those_of_all_slopes(seed: int) -> None:
    solids = banks(Random(seed))
    margin = margin_of_all_slopes(solids)
    found = sight_margin(solids, LOWER, UPPER)
    assert found.margin_mm == pytest.approx(margin, abs=1e-6)
    (z0, y0), (z1, y1) = found.line
    assert free_width((y1 - y0) / (z1 - z0), solids) == pytest.approx(-margin, abs=1e-6)
    corners = padded(solids)
    for asked in (0.05, 0.5, margin - 1e-4, margin - 1e-9, margin + 1e-4):
        if asked > 0.0:
            assert all_miss_by(asked, corners, LOWER, UPPER) == (margin >= asked), asked


def test_drawn_banks_are_open_as_well_as_closed() -> None:
    """Or the test above would look at one kind of answer only."""
    margins = [margin_of_all_slopes(banks(Random(seed))) for seed in range(40)]
    assert sum(margin > 0.05 for margin in margins) > 5
    assert sum(margin < 0.0 for margin in margins) > 5


def test_sections_of_every_form_are_closed_by_their_own_margin() -> None:
    for form in ("inclined", "folded", "flat", "channel"):
        section = spec("rectangular", size="60x60", slat_form=form).section
        assert section.closed == (section.sight.margin_mm >= SIGHT_MARGIN_MIN.value - 1e-9)
