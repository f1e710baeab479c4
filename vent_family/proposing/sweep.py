"""Many requirements at once: one requirement with some entries varied, side by side or on Dask.

Each is searched by one process, alike wherever that runs. Solids are not built: what is told is
predicted by all other models, and the row of a table is proposed in full before it is drawn.
"""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from vent_family.base.problems import InputError, Problem
from vent_family.base.rates import Rates
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.spelled import row_cells
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry, enquiry_of
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.memory import Memory
from vent_family.proposing.requirement import Requirement, requirement_of
from vent_family.proposing.run import USUAL, Depth, front_for
from vent_family.proposing.search import AIMS, aims_of, front_of
from vent_family.proposing.space import space_of
from vent_family.proposing.titles import titled
from vent_family.release.pool import side_by_side
from vent_family.release.remote import connected

if TYPE_CHECKING:
    from distributed import Client

Given = TypeVar("Given")
Made = TypeVar("Made")
MOST: Final = 2000
"""Requirements in one sweep, at most."""


@dataclass(frozen=True)
class Variation:
    """One requirement of a sweep: the entries that were varied with their values, made ready.

    ``alike`` is the same for those that differ in their cabinet alone: of a row that they all try
    the same is worked out once in a process.
    """

    values: tuple[tuple[str, Any], ...]
    enquiry: Enquiry
    rows: tuple[CatalogRow, ...]
    depth: Depth
    seed: int
    alike: str = ""


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
        found.append(
            Variation(values, enquiry, tuple(rows), depth, seed, _but_cabinet(data, enquiry))
        )
    return found


def _but_cabinet(data: Mapping[str, Any], enquiry: Enquiry) -> str:
    """Return one text for all requirements that ask the same but for their cabinet."""
    rest = {section: entries for section, entries in data.items() if section != "cabinet"}
    fans = {name: text for name, (text, _) in enquiry.fans.items()}
    told = json.dumps([rest, fans, repr(enquiry.rates)], sort_keys=True)
    return hashlib.sha256(told.encode()).hexdigest()


def _with(data: Mapping[str, Any], place: Sequence[str], value: Any) -> dict[str, Any]:
    """Return plain data with another value in one place."""
    first, *rest = place
    if not rest:
        return {**data, first: value}
    inner = data.get(first)
    return {**data, first: _with(inner if isinstance(inner, Mapping) else {}, rest, value)}


def searched_variation(variation: Variation) -> SweptRequirement:
    """Search for one requirement of a sweep, in this process."""
    enquiry = replace(variation.enquiry, memory=_memory_of(variation.alike))
    front = front_for(
        space_of(enquiry.asked),
        Crew(enquiry),
        rows=variation.rows,
        depth=variation.depth,
        seed=variation.seed,
    )
    return SweptRequirement(variation.values, _best(front.candidates), front.found.reached["rules"])


def _best(front: Sequence[Candidate]) -> dict[str, tuple[tuple[float, ...], Mapping[str, str]]]:
    return {
        title: (aims_of(candidate.figures), row_cells(candidate.row))
        for candidate, titles in titled(front).items()
        for title in titles
    }


Group = Sequence[tuple[Variation, SweptRequirement]]
"""Requirements that are alike, with what was found for each."""


def shared(group: Group) -> list[SweptRequirement]:
    """Return what was found for requirements that are alike, each with the others' rows tried too.

    So none gets a dearer row than one that asks for more.
    """
    told = (cells for _, one in group for _, cells in one.best.values())
    rows = list(dict.fromkeys(CatalogRow(**cells) for cells in told))
    found = []
    for variation, one in group:
        if one.problem:
            found.append(one)
            continue
        enquiry = replace(variation.enquiry, memory=_memory_of(variation.alike))
        crew = Crew(enquiry)
        kept = [c for c in crew.judge(rows) if c.kept]
        ended = [c for c in crew.to_the_end(kept) if c.kept]
        found.append(replace(one, best=_best(front_of(ended))))
    return found


@lru_cache(maxsize=1)
def _memory_of(alike: str) -> Memory:
    """Return what this process knows of rows from the last requirements that were ``alike``."""
    return Memory()


def swept_all(
    wanted: Sequence[Variation],
    *,
    workers: int = 1,
    scheduler: str | None = None,
    told: Callable[[SweptRequirement], None] = lambda one: None,
) -> list[SweptRequirement]:
    """Search for all requirements of a sweep, and return what was found in their order.

    Those that differ in their cabinet alone are then tried with each other's rows.

    Parameters
    ----------
    wanted
        the requirements
    workers
        processes on this machine
    scheduler
        address of a Dask scheduler whose workers do it instead
    told
        told of every one as it comes, before it is tried with the rows of others

    Raises
    ------
    InputError
        if no scheduler answers, or Dask distributed is not installed
    """
    alike: dict[str, list[int]] = {}
    for i, one in enumerate(wanted):
        alike.setdefault(one.alike, []).append(i)
    # One after the other those that know most of each other's rows.
    order = [i for together in alike.values() for i in together]
    with nullcontext() if scheduler is None else connected(scheduler) as client:
        run = partial(_run, workers=workers, client=client)
        jobs = [wanted[i] for i in order]
        swept = dict(zip(order, run(jobs, searched_variation, _lost, told), strict=True))
        groups = [g for g in alike.values() if len(g) > 1 and any(swept[i].best for i in g)]
        pairs = [[(wanted[i], swept[i]) for i in group] for group in groups]
        for group, better in zip(groups, run(pairs, shared, _unshared, _untold), strict=True):
            swept |= zip(group, better, strict=True)
    return [swept[i] for i in range(len(wanted))]


def _run(
    jobs: Sequence[Given],
    work: Callable[[Given], Made],
    lost: Callable[[Given, str], Made],
    told: Callable[[Made], None],
    *,
    workers: int,
    client: Client | None,
) -> list[Made]:
    """Return what jobs give in their order, from processes here or from the workers of a client."""
    if client is None:
        return side_by_side(jobs, workers, told, work, lost, limit_s=LIMIT_S, forked=True)
    from distributed import as_completed

    done: dict[int, Made] = {}
    futures = {client.submit(work, job, pure=False): i for i, job in enumerate(jobs)}
    try:
        for future in as_completed(futures, loop=client.loop):
            i = futures[future]
            good = future.status == "finished"
            done[i] = future.result() if good else lost(jobs[i], _LOST)
            told(done[i])
    except BaseException:
        client.cancel(list(futures))
        raise
    return [done[i] for i in range(len(jobs))]


LIMIT_S: Final = 3600.0
"""A search that takes longer is given up, s."""
_LOST: Final = "the process that searched was lost"


def _lost(variation: Variation, why: str) -> SweptRequirement:
    return SweptRequirement(variation.values, {}, 0, why)


def _unshared(group: Group, why: str) -> list[SweptRequirement]:
    """Return what was found before; what was lost with a process is the rows of the others."""
    return [one for _, one in group]


def _untold(_: object) -> None:
    pass
