"""Follows the advice on rows drawn from the whole range of every column; resumable.

Of each refused row the advice is read, typed into its cells and the row resolved anew. Besides, all
columns are turned in coarse steps, one and two at once, to see where a remedy exists. Run

    python tests/benchmarks/bench_advice.py --rows 500 --results advice.jsonl

and again with the same file to go on where it stopped. ``--water 20`` follows water advice as well,
``--searched 12`` looks for remedies that water advice misses.
"""

from __future__ import annotations

import argparse
import itertools
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

COARSE = (0.15, 0.3, 0.6, 1.1, 2.5)
"""Shares by which the exhaustive search turns a number."""
SEARCHED = 1500
"""Rows the exhaustive search resolves for one problem, at most."""
WET = (
    *("sill_height_mm", "drain_height_mm", "bank_count", "overlap_mm", "pitch_mm", "bank_gaps_mm"),
    *("rib_count", "floor_slope_deg", "slat_form", "face_velocity_m_s", "head_diameter_mm"),
)
"""Columns that the search for water remedies turns."""
WET_COARSE = (0.3, 0.6, 1.1, 2.5)
WET_SECONDS = 12.0
"""Processor time of the search for the remedies of one exposure; columns alone get half of it."""


def followed(cells: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield what became of each problem of a refused row when its advice was followed."""
    from tests.helpers.following import (
        NO_ADVICE,
        advised_cells,
        kind_of,
        problems_of,
        read_row,
    )
    from vent_family.catalog.model import CatalogRow

    problems = problems_of(CatalogRow(**cells), advise=True)
    kinds = {kind_of(p) for p in problems}
    for problem in problems:
        result = {"problem": problem.message, "advice": problem.suggestion}
        if problem.suggestion.startswith(NO_ADVICE):
            yield result | {"columns": 0, "outcome": "none", "remedy": remedy(cells, problem)}
            continue
        typed = advised_cells(problem.suggestion)
        left = {kind_of(p) for p in problems_of(read_row(cells | typed))}
        outcome = "accepted" if not left else "others left" if left <= kinds else "next"
        outcome = "still there" if kind_of(problem) in left else outcome
        turned = sum(text != "" for text in typed.values())
        yield result | {"columns": turned or 1, "outcome": outcome}


def remedy(cells: dict[str, Any], problem: Any) -> dict[str, Any] | None:
    """Return a change of one or two columns that removes a problem, by turning all of them."""
    from tests.helpers.following import kind_of, problems_of
    from vent_family.catalog.columns import COLUMNS
    from vent_family.catalog.model import REQUIRED, CatalogRow
    from vent_family.spec.changes import applied, ladder, possible
    from vent_family.spec.families import filled_row

    row = CatalogRow(**cells)
    filled = filled_row(row)
    singles = [
        (name, value)
        for name in COLUMNS
        if name not in set(REQUIRED) - {"size"} and row.family in COLUMNS[name].families
        for share, value in ladder(row, name, getattr(filled, name, None))
        if share in COARSE or COLUMNS[name].kind == "choice" or value is None
    ]
    pairs = ((a, b) for a, b in itertools.combinations(singles, 2) if a[0] != b[0])
    changes = itertools.chain(((s,) for s in singles), pairs)
    before = {kind_of(p) for p in problems_of(row)} - {kind_of(problem)}
    for change in itertools.islice(changes, SEARCHED):
        if possible(row, dict(change)):
            left = {kind_of(p) for p in problems_of(applied(row, dict(change)))}
            if left <= before:
                return dict(change)
    return None


def watered(cells: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield what became of each exposure of a row when its water advice was followed."""
    from tests.helpers.following import advised_cells, read_row
    from vent_family.evidence.outcomes import RANK
    from vent_family.evidence.water.assess import assess
    from vent_family.evidence.water.conditions import conditions_of
    from vent_family.spec.resolve import resolve

    vent = resolve(read_row(cells))
    begin = time.process_time()
    report = assess(vent, conditions_of(vent))
    seconds = time.process_time() - begin
    was = {e.name: RANK[e.verdict.outcome] for e in report.exposures}
    for exposure in report.exposures:
        change = exposure.verdict.change
        if not change:
            continue
        result = {"exposure": exposure.name, "advice": change, "seconds": round(seconds, 1)}
        if "(then predicted" not in change:
            yield result | {"columns": 0, "outcome": "none"}
            continue
        typed = advised_cells(change)
        after = resolve(read_row(cells | typed))
        found = assess(after, conditions_of(after), advise=False)
        now = {e.name: RANK[e.verdict.outcome] for e in found.exposures}
        kept = now[exposure.name] < was[exposure.name] and all(now[n] <= was[n] for n in was)
        turned = sum(text != "" for text in typed.values())
        yield result | {"columns": turned or 1, "outcome": "better" if kept else "no better"}


def searched(cells: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield what one or two columns turned in coarse steps reach, beside what advice reaches."""
    from tests.helpers.following import read_row
    from vent_family.catalog.columns import COLUMNS
    from vent_family.evidence.outcomes import RANK
    from vent_family.evidence.water.assess import assess
    from vent_family.evidence.water.conditions import conditions_of
    from vent_family.spec.changes import ladder, possible
    from vent_family.spec.families import filled_row
    from vent_family.spec.resolve import resolve

    row = read_row(cells)
    vent = resolve(row)
    begin = time.process_time()
    report = assess(vent, conditions_of(vent))
    seconds = round(time.process_time() - begin, 1)
    filled = filled_row(row)
    singles = [
        {name: value}
        for name in WET
        if row.family in COLUMNS[name].families
        for share, value in ladder(row, name, getattr(filled, name, None))
        if share in WET_COARSE or COLUMNS[name].kind == "choice"
    ]
    random = Random(json.dumps(cells))
    random.shuffle(singles)
    pairs = [a | b for a, b in itertools.combinations(singles, 2) if a.keys() != b.keys()]
    random.shuffle(pairs)
    was = {e.name: RANK[e.verdict.outcome] for e in report.exposures}
    for exposure in report.exposures:
        name, words = exposure.name, exposure.verdict.change
        if was[name] == 0:
            continue
        promised = 0 if "predicted to hold" in words else 1 if "(then predicted" in words else None
        aim = was[name] if promised is None else promised
        found: list[dict[str, Any]] = []
        tried, begin = 0, time.process_time()
        for changes, until in ((singles, 0.5 * WET_SECONDS), (pairs, WET_SECONDS)):
            for change in changes:
                if time.process_time() - begin > until or aim == 0:
                    break
                if not possible(row, change):
                    continue
                tried += 1
                rank = rank_after(row, change, was, name)
                if rank < aim:
                    found.append(change | {"rank": rank})
        yield {
            "exposure": name,
            "limit": exposure.verdict.mechanism,
            "was": was[name],
            "advice": words,
            "columns": int(promised is not None),
            "seconds": seconds,
            "tried": tried,
            "missed": found,
            "outcome": "missed" if found else "none" if promised is None else "better",
            "remedy": found[0] if found else None,
        }


def rank_after(row: Any, change: dict[str, Any], was: dict[str, int], name: str) -> int:
    """Return the rank of an exposure after a change; 2 if a rule or another exposure suffers."""
    from vent_family.base.problems import InputError
    from vent_family.evidence.outcomes import RANK
    from vent_family.evidence.water.advice import Trials
    from vent_family.evidence.water.airfield import potential_flow
    from vent_family.evidence.water.conditions import conditions_of
    from vent_family.evidence.water.judge import judge
    from vent_family.spec.changes import applied
    from vent_family.spec.resolve import resolve

    try:
        vent = resolve(applied(row, change), advise=False)
    except InputError:
        return 2
    conditions = conditions_of(vent)
    trials = Trials(vent, conditions.vent, potential_flow)
    singles = {s[0].exposures[0]: s for s in conditions.singles()}
    # A few drops tell what is worth all of them.
    for state in singles[name]:
        exposure = state.table[0]
        if exposure.coherent:
            continue
        few = judge(trials.setup(vent, state), exposure, state, flights=0)
        if RANK[few.verdict.outcome] >= was[name]:
            return 2
    rank = 2
    for asked in (name, *(n for n in was if n != name)):
        worst = max(RANK[r.verdict.outcome] for r in trials.worst(vent, singles[asked]))
        if asked == name:
            rank = worst
        if worst > was[asked] or rank >= was[name]:
            return 2
    return rank


def drawn(options: argparse.Namespace, done: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield the results of refused rows, then of rows for water, until there are so many."""
    from tests.helpers.any_row import any_cells
    from tests.helpers.following import problems_of
    from vent_family.catalog.model import CatalogRow

    for kind, wanted, follow in (
        ("refused", options.rows, followed),
        ("water", options.water, watered),
        ("searched", options.searched, searched),
    ):
        count = sum(r["kind"] == kind and bool(r["found"]) for r in done.values())
        for number in itertools.count():
            if count >= wanted:
                break
            key = f"{kind} {number}"
            if key in done:
                continue
            cells = any_cells(Random(f"{options.seed}-{number}"), options.largest)
            refused = bool(problems_of(CatalogRow(**cells)))
            found = list(follow(cells)) if refused == (kind == "refused") else []
            count += bool(found)
            yield {"key": key, "kind": kind, "cells": cells, "found": found}


def summary(done: dict[str, Any]) -> None:
    for kind in ("refused", "water", "searched"):
        rows = [r for r in done.values() if r["kind"] == kind and r["found"]]
        found = [f for r in rows for f in r["found"]]
        print(f"{kind}: {len(rows)} rows, {len(found)} problems or exposures")
        print(f"  outcome: {dict(Counter(f['outcome'] for f in found).most_common())}")
        print(f"  columns changed: {dict(sorted(Counter(f['columns'] for f in found).items()))}")
        mendable = [f for f in found if f["columns"] or f.get("remedy")]
        helped = sum(f["columns"] > 0 for f in mendable)
        if mendable:
            print(
                f"  advice given where a remedy was found: {100.0 * helped / len(mendable):.1f} %"
            )
        for row in rows:
            for f in row["found"]:
                if f["outcome"] in ("none", "still there", "no better", "missed"):
                    print(f"  {row['key']}: {f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rows", type=int, default=500)
    parser.add_argument("--water", type=int, default=0)
    parser.add_argument("--searched", type=int, default=0)
    parser.add_argument("--seed", default="advice")
    parser.add_argument("--largest", type=float, default=150.0)
    parser.add_argument("--results", type=Path, required=True)
    options = parser.parse_args()
    done: dict[str, Any] = {}
    if options.results.exists():
        whole = options.results.read_text(encoding="utf-8").split("\n")[:-1]
        done = {r["key"]: r for r in map(json.loads, whole)}
    with options.results.open("a", encoding="utf-8") as file:
        for result in drawn(options, done):
            done[result["key"]] = result
            file.write(json.dumps(result) + "\n")
            file.flush()
    summary(done)


if __name__ == "__main__":
    main()
