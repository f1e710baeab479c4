"""Seconds from a saved catalogue to the section and to the solid in the picture.

    python tests/benchmarks/bench_watch.py
    python tests/benchmarks/bench_watch.py --parts HV-R080 HV-N63 --saves 3

Watches a copy of the demo catalogue, raises the row's revision (which is sunk into the part, so
that all of it is another one) and saves it, as spreadsheets do, by putting a new file in the old
one's place. Told are seconds on the clock and, where the system tells them, of the processor:
others on the machine make the first longer, not the second. Aims: two seconds for blocks, five for
round vents, the section before.
"""

from __future__ import annotations

import argparse
import os
import re
import signal
import string
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from threading import Thread

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from vent_family.catalog.reader import read_catalog  # noqa: E402

PARTS = ("HV-R080", "HV-F120", "HV-N32", "HV-N63")
STAGES = ("section", "solid")


def processor_s(pid: int) -> float | None:
    """Return the processor time that a process took so far, s; ``None`` where it is not told."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    except OSError:
        return None
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def since(now_s: float | None, then_s: float | None) -> str:
    """Return the difference of two times as text, if both are known."""
    return "?" if now_s is None or then_s is None else f"{now_s - then_s:.2f}"


class Watching:
    """The command that watches, and when it said what; ``lines`` are (s, s, words)."""

    def __init__(self, catalog: Path, part: str, more: Sequence[str]) -> None:
        words = [sys.executable, "-m", "vent_family.front.cli.app", "show", part, "--watch"]
        words += ["-c", str(catalog), "--picture", str(catalog.with_name("part.png")), *more]
        self.run = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True, bufsize=1)
        self.lines: list[tuple[float, float | None, str]] = []
        Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.run.stdout is not None
        for line in self.run.stdout:
            self.lines.append((time.monotonic(), processor_s(self.run.pid), line))

    def said(self, words: str, times: int) -> tuple[float, float | None]:
        """Wait until something was said so many times; return when, s and s of the processor."""
        for _ in range(6000):
            found = [line for line in self.lines if words in line[2]]
            if len(found) >= times:
                return found[times - 1][:2]
            if self.run.poll() is not None:
                break
            time.sleep(0.02)
        raise SystemExit(f"{words} was not told")

    def end(self) -> None:
        """End the command as its user does."""
        self.run.send_signal(signal.SIGINT)
        self.run.wait(60)


def revised(text: str, part: str, letter: str) -> str:
    """Return a catalogue's text with another revision of a part."""
    head = re.search(r"^part_number,.*$", text, re.M)
    assert head is not None
    place = head[0].split(",").index("revision")
    cells = rf"^({re.escape(part)}(?:,[^,\n]*){{{place - 1}}},)[A-Z]?"
    found, count = re.subn(cells, rf"\g<1>{letter}", text, flags=re.M)
    assert count == 1, part
    return found


def timed(part: str, saves: int, more: Sequence[str], folder: Path) -> None:
    """Print a line for each save of one part."""
    catalog = folder / f"{part}.csv"
    text = (ROOT / "catalog.csv").read_text(encoding="utf-8")
    catalog.write_text(text, encoding="utf-8")
    for fan in (ROOT / "vent_family" / "fans").glob("*.csv"):
        (folder / fan.name).write_bytes(fan.read_bytes())
    assert any(s.row.part_number == part for s in read_catalog(catalog).rows)
    watching = Watching(catalog, part, more)
    try:
        watching.said(f"{part}: solid", 1)
        for count in range(saves):
            time.sleep(1.0)
            begun, used = time.monotonic(), processor_s(watching.run.pid)
            beside = folder / "beside.tmp"
            beside.write_text(
                revised(text, part, string.ascii_uppercase[20 + count]), encoding="utf-8"
            )
            os.replace(beside, catalog)
            told = []
            for stage in STAGES:
                at, taken = watching.said(f"{part}: {stage}", count + 2)
                told.append(f"{stage} {at - begun:.2f} s, processor {since(taken, used)} s")
            print(f"{part:8s} {'; '.join(told)}", flush=True)
    finally:
        watching.end()


def main() -> None:
    """Time what the command line names."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--parts", nargs="+", default=PARTS)
    parser.add_argument("--saves", type=int, default=2, help="saves of each part, at most 6")
    parser.add_argument("--section", action="store_true", help="cut the solid open, too")
    asked = parser.parse_args()
    more = ["--section"] if asked.section else []
    with tempfile.TemporaryDirectory() as folder:
        for part in asked.parts:
            timed(part, min(asked.saves, 6), more, Path(folder))


if __name__ == "__main__":
    main()
