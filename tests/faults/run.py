"""Plant the faults of the standing list one by one in a copy and see whether the tests notice.

``python -m tests.faults.run`` runs those that have no result yet; see README.md in this folder.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from queue import SimpleQueue
from typing import Final

from tests.faults.fault import ROOT, Fault
from tests.faults.listed import FAULTS

RESULTS: Final = Path(".faults") / "results.jsonl"
LEFT_OUT: Final = ("tests/faults", "tests/test_style.py", "tests/benchmarks")
"""Neither the check that the list is anchored nor the style tools count as noticing."""
NO_TESTS: Final = 5
"""Exit code of pytest where nothing was collected."""
REACHES: Final = ("named", "beside", "users", "whole")
"""Which tests are tried: those named after the module, its folder's, its importers', all."""


@dataclass(frozen=True, slots=True)
class Result:
    """How a fault ended: ``noticed``, ``survived``, or ``time`` where the limit left it open.

    ``reach`` is one of :data:`REACHES`; ``key`` stands for the fault and the tests it was tried
    against.
    """

    id: str
    outcome: str
    by: str
    reach: str
    seconds: float
    key: str


def tracked(root: Path) -> list[str]:
    """Return the files of a checkout that git tracks or would add."""
    command = ["git", "-C", str(root), "ls-files", "-co", "--exclude-standard"]
    listed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return [name for name in listed.splitlines() if (root / name).is_file()]


def copied(root: Path, into: Path) -> Path:
    """Copy a checkout and return where it stands."""
    for name in tracked(root):
        target = into / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(root / name, target)
    return into


def suite(root: Path) -> list[str]:
    """Return the test modules of a checkout that may notice a fault."""
    found = sorted(p.relative_to(root).as_posix() for p in (root / "tests").rglob("test_*.py"))
    return [name for name in found if not name.startswith(LEFT_OUT)]


def groups(root: Path, module: str, reach: str) -> dict[str, list[str]]:
    """Return the tests to try on a module by reach, the nearest first.

    Those named after it come first (where there are none, those of its folder), then those of the
    folder that mirrors its own, those that import it, and all others.
    """
    path = Path(module)
    dotted = "vent_family." + ".".join(path.with_suffix("").parts)
    package, _, name = dotted.rpartition(".")
    every = suite(root)
    mirrors = [Path("tests") / p for p in (path.parent, *path.parent.parents)]
    folder = next(f"{m}/" for m in mirrors if any(t.startswith(f"{m}/") for t in every))

    def imports(test: str) -> bool:
        text = (root / test).read_text(encoding="utf-8")
        return dotted in text or f"from {package} import {name}" in text

    named = [t for t in every if t.startswith(folder) and path.stem in Path(t).stem]
    beside = [t for t in every if t.startswith(folder) and t not in named]
    users = [t for t in every if imports(t) and t not in {*named, *beside}]
    rest = [t for t in every if t not in {*named, *beside, *users}]
    if not named:
        named, beside = beside, []
    found = {"named": named, "beside": beside, "users": users, "whole": rest}
    return {r: found[r] for r in REACHES[: REACHES.index(reach) + 1]}


def key_of(fault: Fault, root: Path) -> str:
    """Return what a result stands for: the fault's text and all tests."""
    digest = hashlib.sha256(repr((fault.module, fault.old, fault.new)).encode())
    for name in sorted(p for p in tracked(root) if p.startswith("tests/")):
        if not name.startswith(LEFT_OUT):
            digest.update(name.encode() + (root / name).read_bytes())
    return digest.hexdigest()[:16]


def pytest_run(copy: Path, tests: Sequence[str], limit_s: float) -> tuple[str, str]:
    """Run tests in a copy up to the first failure; return the outcome and what failed."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "--tb=no", "-p", "no:cacheprovider"]
    command += ["--hypothesis-seed=0", *tests]
    environment = {**os.environ, "PYTHONPATH": str(copy), "MPLBACKEND": "Agg"}
    process = subprocess.Popen(
        command,
        cwd=copy,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        output, _ = process.communicate(timeout=limit_s)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, 9)
        process.communicate()
        return "time", f"limit of {limit_s:g} s"
    if process.returncode in (0, NO_TESTS):
        return "survived", ""
    lines = [x for x in output.splitlines() if x.startswith(("FAILED", "ERROR"))]
    return "noticed", lines[0][:160] if lines else output.strip()[-160:]


class Bench:
    """Copies of the checkout, one per worker, in which faults are planted and taken back."""

    def __init__(self, root: Path, workers: int, limit_s: float, reach: str) -> None:
        self.root, self.limit_s, self.reach = root, limit_s, reach
        self.folder = Path(tempfile.mkdtemp(prefix="faults-"))
        self.copies: SimpleQueue[Path] = SimpleQueue()
        for number in range(workers):
            self.copies.put(copied(root, self.folder / str(number)))
        self.stamp = int(time.time())
        self.lock = threading.Lock()

    def _write(self, path: Path, text: str) -> None:
        # Compiled files are told apart by whole seconds and size: every writing gets its own.
        with self.lock:
            self.stamp += 2
            stamp = self.stamp
        path.write_text(text, encoding="utf-8")
        os.utime(path, (stamp, stamp))

    def tried(self, fault: Fault, before: Result | None = None) -> Result:
        """Return how one fault ends; what it has survived before is not run again."""
        copy = self.copies.get()
        path = fault.path(copy)
        text = path.read_text(encoding="utf-8")
        key = key_of(fault, self.root)
        known = before is not None and before.key == key and before.outcome == "survived"
        skipped = REACHES[: REACHES.index(before.reach) + 1] if before and known else ()
        began = time.monotonic()
        outcome, by, reach = "survived", "", self.reach
        try:
            self._write(path, fault.planted(text))
            for name, group in groups(copy, fault.module, self.reach).items():
                left = self.limit_s - (time.monotonic() - began)
                if group and outcome == "survived" and name not in skipped:
                    outcome, by = pytest_run(copy, group, max(left, 1.0))
                    reach = name if outcome != "survived" else self.reach
        finally:
            self._write(path, text)
            self.copies.put(copy)
        return Result(fault.id, outcome, by, reach, round(time.monotonic() - began, 1), key)

    def close(self) -> None:
        """Remove the copies."""
        shutil.rmtree(self.folder, ignore_errors=True)


def read_results(path: Path) -> dict[str, Result]:
    """Return the last result of every fault."""
    if not path.exists():
        return {}
    lines = path.read_text(encoding="utf-8").splitlines()
    return {r.id: r for r in (Result(**json.loads(line)) for line in lines if line)}


def done(result: Result | None, key: str, reach: str) -> bool:
    """Return whether a fault need not be tried again."""
    if result is None:
        return False
    if result.outcome == "noticed":
        return True
    return (
        result.outcome == "survived"
        and result.key == key
        and REACHES.index(result.reach) >= REACHES.index(reach)
    )


def chosen(only: Sequence[str]) -> list[Fault]:
    """Return the faults asked for, those argued equivalent left out."""
    counted = [f for f in FAULTS if not f.equivalent]
    if not only:
        return counted
    return [f for f in counted if any(w in (f.id, f.area) or w in f.module for w in only)]


def shares(results: dict[str, Result]) -> Iterator[str]:
    """Yield the report: a line per area, the whole, and the survivors."""
    counted = chosen(())
    tried = [f for f in counted if f.id in results]
    for area in dict.fromkeys(f.area for f in counted):
        mine = [f for f in tried if f.area == area]
        seen = sum(results[f.id].outcome == "noticed" for f in mine)
        yield f"{area:9} {seen:3} of {len(mine):3} noticed"
    seen = sum(results[f.id].outcome == "noticed" for f in tried)
    share = 100.0 * seen / len(tried) if tried else 0.0
    left = f", {len(counted) - len(tried)} not tried yet" if len(tried) < len(counted) else ""
    yield f"all       {seen:3} of {len(tried):3} noticed, {share:.1f} %{left}"
    for fault in tried:
        result = results[fault.id]
        if result.outcome != "noticed":
            yield f"{result.outcome} ({result.reach}): {fault.id} {fault.module}: {fault.breaks}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the list; exit code 0 if every fault tried was noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--side-by-side", type=int, default=1, metavar="N", help="at a time")
    parser.add_argument("--only", nargs="*", default=[], help="areas, modules or ids")
    parser.add_argument("--limit-s", type=float, default=1800.0, help="time limit per fault, s")
    parser.add_argument("--reach", choices=REACHES, default="whole", help="tests to try")
    parser.add_argument("--again", action="store_true", help="try those noticed before, too")
    parser.add_argument("--share", action="store_true", help="tell the results so far, run nothing")
    parser.add_argument("--root", type=Path, default=ROOT, help="checkout to copy")
    parser.add_argument("--results", type=Path, default=ROOT / RESULTS, help="file of results")
    given = parser.parse_args(arguments)
    results = read_results(given.results)
    if not given.share:
        todo = [
            f
            for f in chosen(given.only)
            if given.again or not done(results.get(f.id), key_of(f, given.root), given.reach)
        ]
        given.results.parent.mkdir(parents=True, exist_ok=True)
        bench = Bench(given.root, given.side_by_side, given.limit_s, given.reach)
        try:
            with ThreadPoolExecutor(given.side_by_side) as pool:
                for result in pool.map(bench.tried, todo, [results.get(f.id) for f in todo]):
                    results[result.id] = result
                    with given.results.open("a", encoding="utf-8") as out:
                        out.write(json.dumps(asdict(result)) + "\n")
                    print(f"{result.id:24} {result.outcome:9} {result.seconds:7.1f} s {result.by}")
        finally:
            bench.close()
    print("\n".join(shares(results)))
    return int(any(r.outcome != "noticed" for r in results.values()))


if __name__ == "__main__":
    sys.exit(main())
