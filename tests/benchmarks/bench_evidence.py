"""Processor time of some demo rows, by kind of evidence and stage of files; judges nothing.

    python tests/benchmarks/bench_evidence.py HV-R040 HV-N32 --before ../older-checkout

Every row is built alone in a fresh process, after a first one that loads and warms what all use;
user and system time are counted, so that what else runs on the machine matters little. With another
checkout the same is built there, and every file of both is compared, but for the lines that name
the code: what is printed as different is a fault, however fast. ``--people`` adds pictures,
drawings and sheets.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
WARM = "HV-R040"
"""The row that is built first, whose time does not count."""
SHOWN = 0.02
"""Shares of the whole that are too small to be printed."""


class Account:
    """Processor time (s) by name, each without what is counted under another name within it."""

    def __init__(self) -> None:
        self.seconds: Counter[str] = Counter()
        self._within: list[float] = []

    def counted(self, name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        """Return a function whose time is counted."""

        def wrapper(*args: Any, **kwargs: Any) -> Any:
            begin = time.process_time()
            self._within.append(0.0)
            try:
                return work(*args, **kwargs)
            finally:
                spent = time.process_time() - begin
                self.seconds[name] += spent - self._within.pop()  # type: ignore[assignment]
                if self._within:
                    self._within[-1] += spent

        return wrapper


def one_row(part_number: str, folder: Path, *, people: bool) -> dict[str, float]:
    """Build one row of the demo into a folder and return its account."""
    from vent_family.catalog.reader import read_catalog
    from vent_family.evidence.context import PartContext
    from vent_family.evidence.kinds import KINDS
    from vent_family.files import figure
    from vent_family.release import part, plan, readback
    from vent_family.release.jobs import build_time
    from vent_family.spec.resolve import resolve

    account = Account()
    for name in ("solids", "envelope", "meshes"):
        made = vars(PartContext)[name]
        made.func = account.counted(name, made.func)
    for kind in KINDS:
        for asked in ("compute", "checks", "figures"):
            own = account.counted(f"evidence: {kind.name}", getattr(kind, asked))
            setattr(kind, asked, own)
    picture_bytes = account.counted("figures drawn", figure.figure_bytes)
    for module in (figure, sys.modules["vent_family.release.pictures"]):
        module.figure_bytes = picture_bytes  # type: ignore[attr-defined]
    part.require_read_back = account.counted("read back", readback.require_read_back)
    for file in plan.PLAN:
        name = f"files: {file.ending}" if file.stage == "files" else f"people: {file.stage}"
        object.__setattr__(file, "write", account.counted(name, file.write))
    rows = {s.row.part_number: s for s in read_catalog(Path("catalog.csv")).rows}

    def built(number: str) -> None:
        source = rows[number]
        part.release_part(
            resolve(source.row, source.attached),
            folder / number,
            row_hash=source.row_hash,
            time_stamp=build_time(),
            publish_if="any",
            for_people=people,
        )

    built(WARM)
    account.seconds.clear()
    begin = time.process_time()
    built(part_number)
    whole = time.process_time() - begin
    return {**account.seconds, "whole": whole}


def measured(checkout: Path, part_number: str, folder: Path, *, people: bool) -> dict[str, float]:
    """Return the account of a row built by the code of a checkout."""
    environment = {**os.environ, "PYTHONPATH": str(checkout), "SOURCE_DATE_EPOCH": "0"}
    command = [sys.executable, str(Path(__file__).resolve()), part_number, "--into", str(folder)]
    command += ["--people"] if people else []
    done = subprocess.run(
        command, cwd=checkout, env=environment, check=True, stdout=subprocess.PIPE, text=True
    )
    found: dict[str, float] = json.loads(done.stdout)
    return found


def unlike(one: Path, other: Path) -> tuple[int, list[str]]:
    """Return how many files two folders hold, and which of them are not the same."""
    names = {p.name for folder in (one, other) for p in folder.iterdir()}

    def held(path: Path) -> list[bytes] | None:
        if not path.exists():
            return None
        return [line for line in path.read_bytes().split(b"\n") if b"code_version" not in line]

    return len(names), [n for n in sorted(names) if held(one / n) != held(other / n)]


def main() -> None:
    """Print a table a row, and one of all rows together."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("rows", nargs="+", metavar="PART")
    parser.add_argument("--before", type=Path, help="another checkout of this project")
    parser.add_argument("--people", action="store_true", help="what people look at, too")
    parser.add_argument("--into", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.into is not None:
        print(json.dumps(one_row(options.rows[0], options.into, people=options.people)))
        return
    checkouts = [ROOT] if options.before is None else [options.before.resolve(), ROOT]
    total: list[Counter[str]] = [Counter() for _ in checkouts]
    with tempfile.TemporaryDirectory() as folder:
        places = [Path(folder) / str(i) for i in range(len(checkouts))]
        for number in options.rows:
            accounts = [
                measured(checkout, number, place, people=options.people)
                for checkout, place in zip(checkouts, places, strict=True)
            ]
            for of_all, account in zip(total, accounts, strict=True):
                of_all.update(account)
            print(number, "  ".join(f"{a['whole']:.2f} s" for a in accounts), flush=True)
            if len(places) > 1:
                count, different = unlike(*(place / number for place in places))
                print(f"  {count} files, {len(different)} different {' '.join(different)}")
    print("\nAll of them")
    for name, seconds in sorted(total[-1].items(), key=lambda item: -item[1]):
        if seconds < SHOWN * total[-1]["whole"]:
            continue
        share = 100.0 * seconds / total[-1]["whole"]
        ratio = f"  {total[0][name] / seconds:5.2f} times as fast" if len(total) > 1 else ""
        told = "".join(f"{t[name]:9.2f} s" for t in total)
        print(f"{name:28s}{told} {share:5.1f} %{ratio}")


if __name__ == "__main__":
    main()
