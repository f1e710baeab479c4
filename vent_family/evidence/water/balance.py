"""The water balance of one exposure."""

from __future__ import annotations

import math

from vent_family.evidence.water.drainage import held_on_slats_l
from vent_family.evidence.water.passing import Passing
from vent_family.evidence.water.pool import Pool
from vent_family.evidence.water.report import Balance
from vent_family.evidence.water.setup import Setup


def balance(setup: Setup, pool: Pool, drops: Passing) -> Balance:
    """Return the water balance of the worst direction under the worst splash."""
    ways, time_s = drops.ways, pool.came.time_s
    arriving_l = drops.arriving_l_min * time_s / 60.0
    to_trough = ways.trough_share * arriving_l
    drained = pool.drained(to_trough / time_s * 60.0 if time_s else 0.0)
    over = min(drained.overflow_l, to_trough)
    slats, width_mm = setup.scene.section.slats, setup.front.floor_width_mm
    lines = sum(_perimeter_mm(s.outline) for s in slats)
    on_slats = held_on_slats_l(lines * width_mm, width_mm * len(slats))
    held = min(drained.held_l + on_slats, to_trough - over)
    # Film that a bank caught and that runs behind the sill does not get to the trough.
    film = setup.ribs.film(ways.bank_share).inside_high_share * arriving_l
    film = min(film, to_trough - over - held)
    return Balance(
        in_l=arriving_l,
        drained_l=to_trough - over - held - film,
        passed_l=(ways.air_share + ways.drip_share) * arriving_l + over + film,
        returned_l=ways.returned_share * arriving_l,
        held_l=held,
    )


def _perimeter_mm(outline: tuple[tuple[float, float], ...]) -> float:
    """Return the length (mm) of a closed outline."""
    return sum(math.dist(p, q) for p, q in zip(outline, (*outline[1:], outline[0]), strict=True))
