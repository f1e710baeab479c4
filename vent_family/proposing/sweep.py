"""Many requirements at once: one requirement with some entries varied, side by side or on Dask.

Each is searched by one process, alike wherever that runs. Solids are not built: what is told is
predicted by all other models, and the row of a table is proposed in full before it is drawn.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from vent_family.base.problems import InputError, Problem
from vent_family.base.rates import Rates
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.spelled import row_cells
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry, enquiry_of
from vent_family.proposing.requirement import Requirement, requirement_of
from vent_family.proposing.run import USUAL, Depth, front_for
from vent_family.proposing.search import AIMS, aims_of
from vent_family.proposing.space import space_of
from vent_family.proposing.titles import titled
from vent_family.release.pool import side_by_side
from vent_family.release.remote import connected

MOST: Final = 2000
"""Requirements in one sweep, at most."""


@dataclass(frozen=True)
class Variation:
    """One requirement of a sweep: the entries that were varied with their values, made ready."""

    values: tuple[tuple[str, Any], ...]
    enquiry: Enquiry
    rows: tuple[CatalogRow, ...]
    depth: Depth
    seed: int


@dataclass(frozen=True)
class SweptRequirement:
    """What was found for one requirement of a sweep.

    ``best`` holds, by title, figures in the order of :data:`~vent_family.proposing.search.AIMS` and
    the cells of the row; nothing where nothing does what is asked, or a process was lost, of which
    ``problem`` tells.
    """

    values: tuple[tuple[str, Any], ...]
    best: Mapping[str, tuple[tuple[float, ...], Mapping[str, str]]]
    judged: int
    problem: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return plain data: entries, and for each title figures and cells."""
        return {
            "values": dict(self.values),
            "best": {
                title: {**dict(zip(AIMS, aims, strict=True)), "cells": dict(cells)}
                for title, (aims, cells) in self.best.items()
            },
            "judged": self.judged,
            "problem": self.problem or None,
        }


def variations(
    asked: Requirement,
    varied: Mapping[str, Sequence[Any]],
    *,
    folder: Path | None = None,
    rates: Rates | None = None,
    rows: Sequence[CatalogRow] = (),
    depth: Depth = USUAL,
    seed: int = 1,
) -> list[Variation]:
    """Return a requirement with every pairing of the values of some entries.

    Parameters
    ----------
    asked
        the requirement
    varied
        values by entry, as ``cabinet.heat_w``
    folder
        where the catalogue lies, beside which fan files are looked for
    rates
        the shop's rates, by default the demo's
    rows
        rows of a catalogue, from which every search begins besides
    depth, seed
        as for one search

    Raises
    ------
    InputError
        where an entry or value cannot be used, or there are too many

    Examples
    --------
    >>> asked = requirement_of({"opening": {"size": "40x40"}})
    >>> [dict(v.values) for v in variations(asked, {"order.quantity": [10, 1000]})]
    [{'order.quantity': 10}, {'order.quantity': 1000}]
    """
    pairings = list(itertools.product(*varied.values()))
    if len(pairings) > MOST:
        raise InputError(
            [
                Problem(
                    "requirement.sweep.many",
                    f"the sweep has {len(pairings)} requirements",
                    allowed=f"at most {MOST}",
                    suggestion="vary fewer entries, or in larger steps",
                )
            ]
        )
    plain = asked.model_dump(mode="json", exclude_unset=True)
    found = []
    for pairing in pairings:
        values = tuple(zip(varied, pairing, strict=True))
        data = plain
        for entry, value in values:
            data = _with(data, entry.split("."), value)
        name = ", ".join(f"{entry} {value}" for entry, value in values) or "requirement"
        enquiry = enquiry_of(requirement_of(data, name), folder, rates, name)
        found.append(Variation(values, enquiry, tuple(rows), depth, seed))
    return found


def _with(data: Mapping[str, Any], place: Sequence[str], value: Any) -> dict[str, Any]:
    """Return plain data with another value in one place."""
    first, *rest = place
    if not rest:
        return {**data, first: value}
    inner = data.get(first)
    return {**data, first: _with(inner if isinstance(inner, Mapping) else {}, rest, value)}


def searched_variation(variation: Variation) -> SweptRequirement:
    """Search for one requirement of a sweep, in this process."""
    enquiry = variation.enquiry
    front = front_for(
        space_of(enquiry.asked),
        Crew(enquiry),
        rows=variation.rows,
        depth=variation.depth,
        seed=variation.seed,
    )
    best = {
        title: (aims_of(candidate.figures), row_cells(candidate.row))
        for candidate, titles in titled(front.candidates).items()
        for title in titles
    }
    return SweptRequirement(variation.values, best, front.found.reached["rules"])


def swept_all(
    wanted: Sequence[Variation],
    *,
    workers: int = 1,
    scheduler: str | None = None,
    told: Callable[[SweptRequirement], None] = lambda one: None,
) -> list[SweptRequirement]:
    """Search for all requirements of a sweep, in their order.

    Parameters
    ----------
    wanted
        the requirements
    workers
        processes on this machine
    scheduler
        address of a Dask scheduler whose workers do it instead
    told
        told of every one as it comes

    Raises
    ------
    InputError
        if no scheduler answers, or Dask distributed is not installed
    """
    if scheduler is None:
        return side_by_side(
            wanted, workers, told, searched_variation, _lost, limit_s=LIMIT_S, forked=True
        )
    done: dict[int, SweptRequirement] = {}
    with connected(scheduler) as client:
        from distributed import as_completed

        futures = {
            client.submit(searched_variation, one, pure=False): i for i, one in enumerate(wanted)
        }
        try:
            for future in as_completed(futures, loop=client.loop):
                i = futures[future]
                good = future.status == "finished"
                done[i] = future.result() if good else _lost(wanted[i], _LOST)
                told(done[i])
        except BaseException:
            client.cancel(list(futures))
            raise
    return [done[i] for i in range(len(wanted))]


LIMIT_S: Final = 3600.0
"""A search that takes longer is given up, s."""
_LOST: Final = "the process that searched was lost"


def _lost(variation: Variation, why: str) -> SweptRequirement:
    return SweptRequirement(variation.values, {}, 0, why)
