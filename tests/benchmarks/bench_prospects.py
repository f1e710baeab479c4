"""What is told of candidates before they are resolved: is it true, how much of it, how fast.

    python tests/benchmarks/bench_prospects.py --rows 2000 --seed any

For each family as many rows are drawn as a search draws them. Printed are, by processor time, how
many a second are judged and how many a second are resolved or refused; the share of the refused
ones that is foretold, and by rule what is not; how much wider than the narrowest cross-section the
area said is. Rows said to be refused that resolve, and vents wider than said, are faults: they are
listed, and the exit status is 1.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from typing import TypeVar

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from pydantic import ValidationError  # noqa: E402

from tests.helpers.candidates import candidate_cells  # noqa: E402
from vent_family.catalog.model import FAMILIES, CatalogRow  # noqa: E402
from vent_family.spec.areas import open_areas, smallest  # noqa: E402
from vent_family.spec.prospects import (  # noqa: E402
    certainly_refused,
    lack_of,
    open_area_most_mm2,
)
from vent_family.spec.resolve import refusals_of, resolved_or_none  # noqa: E402

Answer = TypeVar("Answer")


def drawn(family: str, seed: str, count: int) -> list[CatalogRow]:
    """Return rows of a family that can be read."""
    rows = []
    for number in range(count):
        try:
            cells = candidate_cells(Random(f"{seed}-{family}-{number}"), family)
            rows.append(CatalogRow(**cells))
        except ValidationError:
            continue
    return rows


def timed(
    work: Callable[[CatalogRow], Answer], rows: Sequence[CatalogRow]
) -> tuple[list[Answer], float]:
    """Return the answers, and the processor time of one row, ms."""
    begin = time.process_time()
    found = [work(row) for row in rows]
    return found, 1e3 * (time.process_time() - begin) / max(len(rows), 1)


def judged(family: str, rows: list[CatalogRow]) -> int:
    """Print what is found out about the rows of a family; return how many faults."""
    begin = time.process_time()
    said, codes = certainly_refused(rows)
    foretold_s = time.process_time() - begin
    vents, tried_ms = timed(resolved_or_none, rows)
    refused = [vent is None for vent in vents]
    wrong = [row for row, no, yes in zip(rows, refused, said, strict=True) if yes and not no]
    print(
        f"{family}: {len(rows)} rows, {sum(refused)} refused; foretold"
        f" {100.0 * said.sum() / sum(refused):.0f} %, {len(wrong)} of them wrongly"
    )
    print(
        f"  a second: {len(rows) / foretold_s:.0f} judged, {1e3 / tried_ms:.0f} resolved or refused"
    )
    print("  foretold: " + ", ".join(f"{c} {n}" for c, n in Counter(codes).most_common(6) if c))
    left = [row for row, no, yes in zip(rows, refused, said, strict=True) if no and not yes]
    missed = Counter(refusals_of(row)[0].rule for row in left)
    print("  not foretold: " + ", ".join(f"{rule} {n}" for rule, n in missed.most_common(6)))
    resolved = [(row, vent) for row, vent in zip(rows, vents, strict=True) if vent is not None]
    most, area_ms = timed(open_area_most_mm2, [row for row, _ in resolved])
    shares = [
        area / smallest(open_areas(vent)).area_mm2
        for area, (_, vent) in zip(most, resolved, strict=True)
    ]
    wider = [row for share, (row, _) in zip(shares, resolved, strict=True) if share < 1.0 - 1e-9]
    shares.sort()
    print(
        f"  area said over area: {shares[0]:.3f} to {shares[-1]:.2f}, median"
        f" {shares[len(shares) // 2]:.2f}; {area_ms:.2f} ms"
    )
    lacks, lack_ms = timed(lack_of, rows[:300])
    odd = [
        row
        for row, lack in zip(rows, lacks, strict=False)
        if (lack > 0.0) != bool(refusals_of(row))
    ]
    print(f"  lack: {lack_ms:.2f} ms a row")
    for text, faults in (("resolves", wrong), ("wider", wider), ("lack", odd)):
        for row in faults:
            print(f"  FAULT {text}: {row.model_dump(exclude_none=True)}")
    return len(wrong) + len(wider) + len(odd)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rows", type=int, default=2000, help="rows to draw of each family")
    parser.add_argument("--seed", default="any", help="text that the rows are drawn from")
    options = parser.parse_args()
    for family in FAMILIES.own:
        certainly_refused(drawn(family, "first", 20))  # what is compiled is compiled once
    faults = [judged(f, drawn(f, options.seed, options.rows)) for f in FAMILIES.own]
    sys.exit(bool(sum(faults)))


if __name__ == "__main__":
    main()
