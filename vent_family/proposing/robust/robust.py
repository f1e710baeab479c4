"""One call: how surely a vent holds what is asked of it, and what makes the spread."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.outcomes import RANK
from vent_family.proposing.robust.answer import (
    EXPLAINED_LEAST,
    MILLILITRES,
    Chance,
    Kind,
    Quantity,
    Robustness,
)
from vent_family.proposing.robust.case import Case
from vent_family.proposing.robust.drawn import OneDraw
from vent_family.proposing.robust.draws import DrawEffort, Progress, draw_all, places_of
from vent_family.proposing.robust.shares import sobol_shares
from vent_family.proposing.robust.surface import surface_through

HELD: Final = 0.25
"""SobolShare of the draws that no surface sees: they say how far off it is."""
DRAWS_LEAST: Final = 48
"""From fewer draws no surface is made."""
LEAST_ML: Final = 1e-3
LEAST_PERCENT: Final = 1e-4
"""What passes counts as so much at least where it is compared by decades."""


def robustness(
    case: Case, effort: DrawEffort | None = None, on_progress: Progress | None = None
) -> Robustness | None:
    """Return how surely a vent holds; ``None`` where nothing is asked, or no draw tells all of it.

    Parameters
    ----------
    case
        the vent and what is asked of it
    effort
        how many draws; as usual if not given
    on_progress
        told how many draws are done, and of how many

    An interrupt from the keyboard ends the draws, and what is done by then is answered for.
    """
    effort = effort or DrawEffort()
    if case.question is None and not case.conditions.exposures:
        return None
    draws, whole = draw_all(case, effort, on_progress)
    return summed_up(case, effort, draws, whole=whole)


def summed_up(
    case: Case, effort: DrawEffort, draws: Sequence[OneDraw], *, whole: bool
) -> Robustness | None:
    """Return what draws say of a case; ``whole`` is whether all of them were done."""
    cooled = [d for d in draws if d.lost or d.cooled is not None]
    wetted = [d for d in draws if d.number < effort.wet] if case.conditions.exposures else []
    asked = wetted if case.conditions.exposures else cooled
    if not asked:
        return None

    names = case.conditions.exposures if wetted else ()
    places = places_of(case, effort)
    return Robustness(
        part_number=case.vent.part_number,
        seed=effort.seed,
        inputs=case.inputs,
        chance=_chance(asked, lambda d: _cool(d) and _dry(case, d)),
        cooling=None if case.question is None else _chance(cooled, _cool),
        waters=tuple((n, _chance(wetted, partial(_dry, case, exposure=n))) for n in names),
        quantities=tuple(_quantities(case, effort, places, cooled, wetted)),
        lost=sum(bool(d.lost) for d in draws),
        whole=whole,
    )


def _chance(draws: Sequence[OneDraw], holds: Callable[[OneDraw], bool]) -> Chance:
    """Return the chance that draws hold; those that could not be judged do not."""
    return Chance.of(sum(not d.lost and holds(d) for d in draws), len(draws))


def _cool(draw: OneDraw) -> bool:
    return draw.cooled is None or draw.cooled.holds


def _dry(case: Case, draw: OneDraw, exposure: str = "") -> bool:
    """Return whether water does no worse than asked, under one exposure or all."""
    return all(
        RANK[own.outcome] <= RANK[case.at_least]
        for own in draw.wetted or ()
        if own.exposure == exposure or not exposure
    )


def _quantities(
    case: Case,
    effort: DrawEffort,
    places: FloatArray,
    cooled: Sequence[OneDraw],
    wetted: Sequence[OneDraw],
) -> list[Quantity]:
    """Return all quantities, each with what makes its spread."""
    found = []
    known = [
        (d.number, d.cooled.inside_c)
        for d in cooled
        if d.cooled is not None and d.cooled.inside_c is not None
    ]
    if known and case.question is not None:
        limit = case.question.cabinet.limit_c
        inside = _quantity("inside temperature", "", "degC", known, limit)
        found.append(_explained(case, effort, places, inside, known, decades_from=None))
    for k, exposure in enumerate(case.conditions.table if wetted else ()):
        own = [(d.number, d.wetted[k]) for d in wetted if d.wetted is not None]
        if not own:
            continue
        jet = exposure.coherent
        units = ("% of the jet at the worst aim", "L/min") if jet else (MILLILITRES, "mm")
        scale = 100.0 if jet else 1.0
        passed = [(n, scale * w.passed) for n, w in own]
        allowed = float(np.median([w.allowed for _, w in own]))
        may = scale * allowed if math.isfinite(allowed) else None
        quantity = _quantity("water that passes", exposure.name, units[0], passed, may)
        least = LEAST_PERCENT if jet else LEAST_ML
        found.append(_explained(case, effort, places, quantity, passed, decades_from=least))
        margin = [(n, w.margin) for n, w in own]
        quantity = _quantity("margin", exposure.name, units[1], margin, 0.0)
        found.append(_explained(case, effort, places, quantity, margin, decades_from=None))
    return found


def _quantity(
    kind: Kind,
    exposure: str,
    unit: str,
    known: Sequence[tuple[int, float]],
    limit: float | None,
) -> Quantity:
    """Return a quantity over its draws, number and value, which like ``limit`` are in ``unit``."""
    values = np.array([value for _, value in known])
    low, middle, high = (float(v) for v in np.percentile(values, (5.0, 50.0, 95.0)))
    return Quantity(kind, exposure, unit, values, low, middle, high, limit)


def _explained(
    case: Case,
    effort: DrawEffort,
    places: FloatArray,
    quantity: Quantity,
    known: Sequence[tuple[int, float]],
    *,
    decades_from: float | None,
) -> Quantity:
    """Return a quantity with the shares of its spread, where a surface tells them.

    ``decades_from`` is the least value, in the quantity's unit, of one that is compared by decades;
    ``None`` for one that is not.
    """
    values = quantity.values
    if decades_from is not None:
        values = np.log10(np.maximum(values, decades_from))
    if len(values) < DRAWS_LEAST or np.ptp(values) <= 1e-9:
        return quantity
    # What cannot change a quantity must not seem to: a surface of few draws might take it for more.
    elsewhere = "on water" if quantity.kind == "inside temperature" else "on the cabinet"
    own = [k for k, one in enumerate(case.inputs) if one.acts != elsewhere]
    where = places[np.ix_([n for n, _ in known], own)]
    steps = tuple(case.inputs[k].steps for k in own)
    surface = surface_through(where, values, round(HELD * len(values)), steps)
    told = replace(
        quantity,
        decades=decades_from is not None,
        off=surface.error,
        explained=surface.explained,
    )
    if surface.explained < EXPLAINED_LEAST:
        return told
    names = [case.inputs[k].name for k in own]
    return replace(told, shares=sobol_shares(surface.at, names, seed=effort.seed))
