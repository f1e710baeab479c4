"""Time of reading and checking a catalogue; prints seconds, shares and ratios, judges nothing.

    python tests/benchmarks/bench_check.py thousand.csv --before ../older-checkout

The catalogue is one that ``thousand_rows.py`` has written, or any other. Each figure is that of a
fresh process, user and system time of all its children together, the best of a few; beside it the
time on the clock, which other work on the machine makes longer, and how many cores were at work.
With another checkout the same is measured there, and every resolved row and every sentence of both
is compared: what is printed as different is a fault, however fast.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import resource
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]

WORK: dict[str, list[str]] = {
    "load catalogue code": ["-c", "import vent_family.catalog.reader"],
    "load command line": ["-c", "import vent_family.front.cli.app"],
    "read and hash rows": [
        "-c",
        "import sys; from pathlib import Path; from vent_family.catalog.reader import read_catalog;"
        " read_catalog(Path(sys.argv[1]))",
    ],
    "check": ["-m", "vent_family.front.cli.app", "check", "--catalog"],
}
"""What is measured, the catalogue's path left out at the end."""


def seconds(checkout: Path, work: list[str], catalog: Path) -> tuple[float, float]:
    """Return the processor time (s) of a child and its own children, and that on the clock (s)."""
    before, begin = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    run(checkout, [*work, str(catalog)])
    after, end = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, end - begin


def run(checkout: Path, work: list[str]) -> bytes:
    """Return what a child prints that imports the package of a checkout."""
    environment = {**os.environ, "PYTHONPATH": str(checkout.resolve())}
    command = [sys.executable, *work]
    return subprocess.run(command, env=environment, cwd="/", capture_output=True).stdout


def outcomes(catalog: Path) -> None:
    """Print one line a row: its spec with the sight margin, or the sentences that refuse it."""
    from vent_family.base.problems import InputError
    from vent_family.catalog.reader import read_catalog
    from vent_family.spec.resolve import resolve

    file = read_catalog(catalog)
    found = {f"file {i}": problem.sentence() for i, problem in enumerate(file.problems)}
    for source in file.rows:
        try:
            spec = resolve(source.row, source.attached)
            text = f"{spec!r} {spec.section.sight!r}"
        except InputError as error:
            text = str(error)
        digest = hashlib.sha256(text.encode()).hexdigest()
        found[source.row.part_number] = f"{source.row_hash} {digest}"
    print(json.dumps(found))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("catalog", type=Path)
    parser.add_argument("--before", type=Path, help="another checkout of this project")
    parser.add_argument("--best-of", type=int, default=2)
    parser.add_argument("--outcomes", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    catalog = options.catalog.resolve()
    if options.outcomes:
        outcomes(catalog)
        return
    checkouts = [ROOT] if options.before is None else [options.before, ROOT]
    spent: dict[str, float] = {}
    for name, work in WORK.items():
        times = [
            min(seconds(checkout, work, catalog) for _ in range(options.best_of))
            for checkout in checkouts
        ]
        (cpu, clock), first = times[-1], times[0][0]
        spent[name] = cpu
        ratio = f"   {first / cpu:5.1f} times as fast" if len(times) > 1 else ""
        told = "".join(f"{t:9.2f} s" for t, _ in times)
        print(
            f"{name:22s}{told}   clock {clock:6.2f} s, {cpu / clock:.2f} cores{ratio}", flush=True
        )
    shares = ", ".join(f"{name} {100.0 * s / spent['check']:.0f} %" for name, s in spent.items())
    print(f"against check: {shares}; each process of check loads the code anew")
    if options.before is not None:
        me = [str(Path(__file__).resolve()), str(catalog), "--outcomes"]
        old, new = (json.loads(run(checkout, me)) for checkout in checkouts)
        names = [n for n in {**old, **new} if old.get(n) != new.get(n)]
        print(f"{len(new)} outcomes, {len(names)} different {' '.join(names[:20])}")


if __name__ == "__main__":
    main()
