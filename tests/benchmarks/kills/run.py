"""Kill a publisher at many moments and see that each leaves the old library or the new one.

``python -m tests.benchmarks.kills.run --moments 20`` kills parent, worker and group 20 times each
and prints one table: how often the library was the old one or the new one, and whether workers
lived on. Ends with 1 if any library was not whole.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.helpers.kills import Victim, alive, kill_at, published, require_whole, started
from tests.release.publish.quick import catalogue, line, run

PARTS = 6
VICTIMS: tuple[Victim, ...] = ("parent", "worker", "group")


def one(folder: Path, victim: Victim, moment_s: float) -> tuple[str, bool]:
    """Kill one publisher; return which library is there, and whether a worker lived on."""
    out = folder / "out"
    run(catalogue(folder, *(line(f"A-{i}") for i in range(PARTS))), out)
    old = published(out)
    path = catalogue(folder, *(line(f"A-{i}", words="slow and new") for i in range(PARTS)))
    workers = kill_at(started(path, out), victim, moment_s)
    time.sleep(2.0)
    left = any(alive(w) for w in workers)
    state = require_whole(out, old, PARTS)
    run(path, out)
    assert require_whole(out, old, PARTS) == "new"
    return state, left


def main() -> int:
    """Run all and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moments", type=int, default=20)
    parser.add_argument("--from-s", type=float, default=0.5)
    parser.add_argument("--to-s", type=float, default=6.0)
    given = parser.parse_args()
    faults = 0
    print("victim  old  new  not whole  workers left")
    for victim in VICTIMS:
        seen: Counter[str] = Counter()
        for i in range(given.moments):
            share = i / max(1, given.moments - 1)
            with tempfile.TemporaryDirectory() as folder:
                moment_s = given.from_s + share * (given.to_s - given.from_s)
                try:
                    state, left = one(Path(folder), victim, moment_s)
                except AssertionError as error:
                    state, left = "not whole", False
                    print(f"{victim} at {moment_s:.2f} s: {error}", file=sys.stderr)
                seen[state] += 1
                seen["left"] += left
        faults += seen["not whole"] + seen["left"]
        print(
            f"{victim:7} {seen['old']:3}  {seen['new']:3}  {seen['not whole']:9}  {seen['left']:12}"
        )
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
