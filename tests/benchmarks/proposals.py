"""How good a front is found for the twelve requirements, how fast, and by which way of searching.

    python -m tests.benchmarks.proposals [NAME ...] [--whole] [--ways nsga,chance,tpe] [--record]

By default as much is tried as for a first look (``propose --quick``), with ``--whole`` as usual.
The worth of each front is compared with what stands in ``requirements/record.json``; ``--record``
writes it there. A front worth less than 0.98 of the record ends the run with 1.

A front's worth is its hypervolume in shares of the reference point (the figures at which a row is
worth nothing, written beside each requirement in ``requirements/worth.json``): 0 for nothing found,
1 for a row that costs nothing, stays cold, is flat and lets no water in. Seconds are wall time; the
rows judged and those that met water say what it took wherever it runs.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from pymoo.indicators.hv import HV

from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import read_catalog
from vent_family.proposing.answer import QUICK
from vent_family.proposing.crew import Crew, crew_of
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.requirement import Requirement, read_requirement
from vent_family.proposing.run import USUAL, Depth, front_for
from vent_family.proposing.search import Found, aims_of, front_of, promising
from vent_family.proposing.space import space_of

HERE: Final = Path(__file__).parent
REQUIREMENTS: Final = HERE / "requirements"
WORTH: Final = REQUIREMENTS / "worth.json"
RECORD: Final = REQUIREMENTS / "record.json"
KEPT: Final = 0.98
"""A front is worth no less than this share of what it was."""


def named(names: Sequence[str]) -> Iterator[tuple[str, Requirement]]:
    """Yield the requirements of some names, all if none is given."""
    for path in sorted(REQUIREMENTS.glob("*.toml")):
        if not names or path.stem in names:
            yield path.stem, read_requirement(path)


def worth(front: Sequence[Candidate], nothing: Sequence[float]) -> float:
    """Return the hypervolume of a front in shares of the point ``nothing`` (money, K, mm, mL).

    Figures for which ``nothing`` is 0 do not count.
    """
    counted = [k for k, value in enumerate(nothing) if value > 0.0]
    if not front:
        return 0.0
    table = np.array([[aims_of(c.figures)[k] / nothing[k] for k in counted] for c in front])
    return float(HV(ref_point=np.ones(len(counted)))(table))


def by_chance(crew: Crew, rows: Sequence[CatalogRow], seed: int, tried: int, wet: int) -> Found:
    """Draw rows by chance alone, as many as a search judges, and wet as many."""
    del rows
    space, found = space_of(crew.enquiry.asked), Found()
    chance = np.random.default_rng(seed)
    counts = np.array([len(k.values) for k in space.knobs])
    blank = np.array([k.values[0] is None for k in space.knobs])
    while len(found.met) < tried:
        drawn = chance.integers(0, counts, size=(64, len(counts)))
        drawn[(chance.random(drawn.shape) < 0.6) & blank] = 0
        found.draw(space, drawn, crew.judge)
    waiting = {c: 0.0 for c in found.met.values() if c.kept}
    found.keep(crew.wet(promising(waiting, (), wet)))
    return found


def by_estimators(crew: Crew, rows: Sequence[CatalogRow], seed: int, tried: int, wet: int) -> Found:
    """Let optuna's tree-structured estimators draw the rows (Bergstra et al. 2011)."""
    import optuna

    del rows
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    space, found = space_of(crew.enquiry.asked), Found()

    def constraint(trial: optuna.trial.FrozenTrial) -> tuple[float, ...]:
        return (trial.user_attrs["lack"],)

    sampler = optuna.samplers.TPESampler(seed=seed, constraints_func=constraint)
    study = optuna.create_study(directions=["minimize"] * 4, sampler=sampler)
    left = wet
    for _ in range(tried):
        trial = study.ask()
        genes = [trial.suggest_int(k.name, 0, len(k.values) - 1) for k in space.knobs]
        (candidate,) = found.draw(space, [genes], crew.judge)
        if candidate.kept and not candidate.done and left:
            (candidate,) = crew.wet([candidate])
            found.keep([candidate])
            left -= 1
        trial.set_user_attr("lack", candidate.lack if candidate.done or not candidate.kept else 0.1)
        study.tell(trial, aims_of(candidate.figures))
    return found


def run(
    name: str,
    asked: Requirement,
    way: str,
    workers: int,
    seed: int,
    nothing: Mapping[str, Any],
    depth: Depth = QUICK,
) -> dict[str, Any]:
    """Search once, and return what came of it."""
    enquiry = enquiry_of(asked)
    rows = [s.row for s in read_catalog(HERE.parents[1] / "catalog.csv").rows]
    rows = [row for row in rows if row.status != "retired"]
    began = time.perf_counter()
    with crew_of(enquiry, workers) as crew:
        if way == "nsga":
            front = front_for(space_of(asked), crew, rows=rows, depth=depth, seed=seed)
            found, best = front.found, front.candidates
        else:
            searched = by_chance if way == "chance" else by_estimators
            effort = depth.effort
            tried = effort.begun + effort.rows * effort.generations
            found = searched(crew, rows, seed, tried, effort.wetted * effort.generations)
            best = front_of(found.done)
    seconds = time.perf_counter() - began
    reached = found.reached
    return {
        "name": name,
        "way": way,
        "seconds": round(seconds, 1),
        "drawn": found.drawn,
        "judged": reached["rules"],
        "met_water": reached["water"],
        "front": len(best),
        "worth": round(worth(best, nothing.get(name, (1e9,) * 4)), 4),
        "least": [round(min(f), 3) for f in zip(*(aims_of(c.figures) for c in best), strict=True)]
        if best
        else [],
        "most": [round(max(f), 3) for f in zip(*(aims_of(c.figures) for c in best), strict=True)]
        if best
        else [],
    }


def main() -> None:
    """Search and print a line of JSON for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--ways", default="nsga")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--whole", action="store_true")
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    nothing = json.loads(WORTH.read_text(encoding="utf-8"))
    known = json.loads(RECORD.read_text(encoding="utf-8")) if RECORD.exists() else {}
    depth, worse = USUAL if given.whole else QUICK, False
    for name, asked in named(given.names):
        for way in given.ways.split(","):
            found = run(name, asked, way, given.workers, given.seed, nothing, depth)
            before = known.get(name)
            if way == "nsga" and not given.whole:
                worse |= before is not None and found["worth"] < KEPT * before
                found["of_record"] = round(found["worth"] / before, 3) if before else None
                known[name] = found["worth"] if given.record else before
            print(json.dumps(found), flush=True)
        if given.record:
            text = json.dumps(known, indent=2, sort_keys=True) + "\n"
            RECORD.write_text(text, encoding="utf-8")
    sys.exit(int(worse and not given.record))


if __name__ == "__main__":
    main()
