"""Builds and checks rows drawn from the whole range of every column; resumable.

A row that the catalogue check accepts must be built and pass every check of a release; what is not
is a fault of this program, and listed. Run

    python tests/benchmarks/bench_any_row.py --accepted 1000 --jobs 2 --results any_row.jsonl

and again with the same file to go on where it stopped; ``--again 17`` builds one row alone and
shows its cells. ``--files`` also writes every accepted part to disk, as a release does.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import re
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

LONGEST_S = 900
"""Seconds of processor time after which a row is given up and counted as a failure."""


def row_cells(seed: str, number: int, largest_mm: float) -> dict[str, Any]:
    from tests.helpers.any_row import any_cells

    return any_cells(Random(f"{seed}-{number}"), largest_mm)


def outcome(seed: str, number: int, largest_mm: float, files: bool) -> dict[str, Any]:
    """Return what became of one row: refused, built or failed; reasons, processor time."""
    from vent_family.base.problems import InputError
    from vent_family.catalog.model import CatalogRow
    from vent_family.release.examine import CheckFailedError
    from vent_family.spec.resolve import resolve

    cells = row_cells(seed, number, largest_mm)
    result: dict[str, Any] = {"number": number, "cells": cells}
    begin = time.process_time()
    signal.signal(signal.SIGPROF, _give_up)
    signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
    try:
        spec = resolve(CatalogRow(**cells))
        result["resolve_s"] = round(time.process_time() - begin, 3)
        _release(spec, files)
        result |= {"outcome": "built", "reasons": []}
    except InputError as error:
        result |= {"outcome": "refused", "reasons": [p.message for p in error.problems]}
    except CheckFailedError as error:
        result |= {
            "outcome": "failed",
            "reasons": [f"{c.name}: {c.message}" for c in error.failures],
        }
    except Exception as error:  # whatever it is: a fault to be listed, not to stop at
        result |= {"outcome": "failed", "reasons": [f"{type(error).__name__}: {error}"]}
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    result["seconds"] = round(time.process_time() - begin, 3)
    return result


def _give_up(*_: object) -> None:
    raise TimeoutError(f"not done in {LONGEST_S} s of processor time")


def _release(spec: Any, files: bool) -> None:
    from vent_family.release.examine import check_part
    from vent_family.release.part import release_part

    if not files:
        check_part(spec)
        return
    with tempfile.TemporaryDirectory() as folder:
        stamp = datetime(2026, 1, 1, tzinfo=UTC)
        release_part(
            spec, Path(folder) / "ANY", row_hash="0" * 16, time_stamp=stamp, publish_if="any"
        )


def outcomes(options: argparse.Namespace, done: dict[int, dict[str, Any]]) -> Iterator[Any]:
    """Yield outcomes of rows not done yet, until so many are accepted."""
    accepted = sum(r["outcome"] != "refused" for r in done.values())
    context = multiprocessing.get_context("spawn")
    numbers = (n for n in range(10**9) if n not in done)
    with ProcessPoolExecutor(options.jobs, mp_context=context, max_tasks_per_child=200) as pool:
        running: set[Future[dict[str, Any]]] = set()
        while accepted < options.accepted or running:
            while accepted < options.accepted and len(running) < 2 * options.jobs:
                work = (options.seed, next(numbers), options.largest, options.files)
                running.add(pool.submit(outcome, *work))
            finished, running = wait(running, return_when=FIRST_COMPLETED)
            for future in finished:
                found = future.result()
                accepted += found["outcome"] != "refused"
                yield found


def summary(done: dict[int, dict[str, Any]]) -> None:
    count = Counter(r["outcome"] for r in done.values())
    accepted = count["built"] + count["failed"]
    print(f"{len(done)} rows drawn, {count['refused']} refused, {accepted} accepted:")
    print(f"{count['built']} built with every check passed, {count['failed']} failed")
    built = [r for r in done.values() if r["outcome"] != "refused"]
    for column in ("family", "slat_form", "print_orientation"):
        kinds = Counter(str(r["cells"].get(column, "blank")) for r in built)
        print(f"  accepted by {column}: " + ", ".join(f"{k} {n}" for k, n in kinds.most_common()))
    if built:
        seconds = sorted(r["seconds"] for r in built)
        middle, longest = seconds[len(seconds) // 2], seconds[-1]
        print(
            f"  processor seconds a row: median {middle:.1f}, longest {longest:.1f},"
            f" sum {sum(seconds):.0f}"
        )
    refused = [r for r in done.values() if r["outcome"] == "refused"]
    if refused:
        slow = max(refused, key=lambda r: r["seconds"])
        print(f"  slowest refusal: {slow['seconds']:.1f} s, row {slow['number']}")
    print("\nRefusals by sentence")
    pattern = Counter(_pattern(reason) for r in refused for reason in r["reasons"])
    for text, n in pattern.most_common():
        print(f"{n:6d}  {text}")
    print("\nFailures")
    for r in done.values():
        if r["outcome"] == "failed":
            cells = {k: v for k, v in r["cells"].items() if k not in ("part_number", "status")}
            print(f"  row {r['number']}: {'; '.join(r['reasons'])}\n    {cells}")


def _pattern(reason: str) -> str:
    """Return a sentence with its numbers left out, to count it."""
    return re.sub(r"-?\d+(?:\.\d+)?", "#", reason)


def read(path: Path) -> dict[int, dict[str, Any]]:
    """Return the outcomes of a results file; a last line cut short is dropped."""
    if not path.exists():
        return {}
    lines = path.read_text(encoding="utf-8").split("\n")
    whole = [json.loads(line) for line in lines[:-1] if line.endswith("}")]
    return {r["number"]: r for r in whole}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seed", default="any", help="text that the rows are drawn from")
    parser.add_argument("--accepted", type=int, default=1000, help="accepted rows to build")
    parser.add_argument("--largest", type=float, default=400.0, help="largest opening or head, mm")
    parser.add_argument("--jobs", type=int, default=1, help="processes side by side")
    parser.add_argument("--results", type=Path, default=Path("any_row.jsonl"))
    parser.add_argument("--files", action="store_true", help="write every part's files, too")
    parser.add_argument("--again", type=int, nargs="*", help="these row numbers only, not recorded")
    options = parser.parse_args()
    if options.again is not None:
        rows = [outcome(options.seed, n, options.largest, options.files) for n in options.again]
        summary({r["number"]: r for r in rows})
        return
    done = read(options.results)
    if options.accepted > sum(r["outcome"] != "refused" for r in done.values()):
        # Rewritten, so that a line cut short is not gone on from.
        text = "".join(json.dumps(r) + "\n" for r in done.values())
        options.results.write_text(text, encoding="utf-8")
        with options.results.open("a", encoding="utf-8") as out:
            for found in outcomes(options, done):
                done[found["number"]] = found
                out.write(json.dumps(found) + "\n")
                out.flush()
                if found["outcome"] == "failed":
                    print(f"row {found['number']} failed: {'; '.join(found['reasons'])}")
    summary(done)


if __name__ == "__main__":
    main()
