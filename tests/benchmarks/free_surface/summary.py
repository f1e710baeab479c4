"""Means and worst aims per section: ``python -m tests.benchmarks.free_surface.summary``.

Reads ``results.csv``, writes ``summary.csv`` and prints what the fine runs say against the coarse.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from typing import Final

from tests.benchmarks.free_surface.run import SECONDS, Row, known
from tests.benchmarks.free_surface.sideways import film_mm, within_bay

TABLE: Final = Path(__file__).with_name("summary.csv")


@dataclass(frozen=True)
class Summary:
    """Shares in per cent of the steady inflow, over all elevations and heights of one kind of aim.

    ``worst_*`` are the largest share inside and its aim; ``trough_worst_percent`` the largest share
    caught. ``kept_percent`` still gathers in the section: with what else is not inside it bounds
    the trough's share from above.
    """

    section: str
    aim: str
    floor: str
    thickness_mm: float
    spacing_mm: float
    runs: int
    inside_percent: float
    worst_percent: float
    worst_elevation_deg: float
    worst_height_mm: float
    trough_percent: float
    trough_worst_percent: float
    back_percent: float
    kept_percent: float


def summarised(rows: Iterable[Row]) -> list[Summary]:
    """Return one line per section, aim, floor, jet and spacing, from runs of the usual length."""
    groups: dict[tuple[str, str, str, float, float], list[Row]] = {}
    for row in (r for r in rows if r.seconds == SECONDS):
        key = row.section, row.aim, row.floor, row.thickness_mm, row.spacing_mm
        groups.setdefault(key, []).append(row)
    found = []
    for key, group in groups.items():
        worst = max(group, key=lambda r: r.inside)
        found.append(
            Summary(
                *key,
                runs=len(group),
                inside_percent=_mean(r.inside for r in group),
                worst_percent=round(100 * worst.inside, 2),
                worst_elevation_deg=worst.elevation_deg,
                worst_height_mm=worst.height_mm,
                trough_percent=_mean(r.trough for r in group),
                trough_worst_percent=round(100 * max(r.trough for r in group), 2),
                back_percent=_mean(r.back for r in group),
                kept_percent=_mean(r.kept for r in group),
            )
        )
    return sorted(found, key=lambda s: (s.aim != "front", -s.thickness_mm, -s.spacing_mm, s.floor))


def _mean(shares: Iterable[float]) -> float:
    listed = list(shares)
    return round(100 * sum(listed) / len(listed), 2)


def refined(rows: list[Row]) -> list[str]:
    """Return a line per case run at several spacings or lengths: shares by them."""
    cases: dict[tuple[object, ...], list[Row]] = {}
    for row in rows:
        jet = row.elevation_deg, row.height_mm, row.thickness_mm
        case = (row.section, row.aim, row.floor, *jet)
        cases.setdefault(case, []).append(row)
    lines = []
    for case, group in cases.items():
        if len(group) > 1:
            by = sorted(group, key=lambda r: (-r.spacing_mm, r.seconds))
            told = "; ".join(
                f"{r.spacing_mm:g} mm, {1e3 * r.seconds:g} ms: inside {100 * r.inside:.2f},"
                f" trough {100 * r.trough:.1f}, back {100 * r.back:.1f}, kept {100 * r.kept:.1f}"
                for r in by
            )
            lines.append(" ".join(map(str, case)) + f": {told}")
    return lines


def main() -> None:
    rows = known()
    found = summarised(rows)
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([f.name for f in fields(Summary)])
        writer.writerows(astuple(s) for s in found)
    for s in found:
        print(
            f"{s.section:9s} {s.aim:6s}{s.floor:7s} {s.thickness_mm:g}/{s.spacing_mm:g} mm"
            f" {s.runs:3d} runs: inside {s.inside_percent:6.2f} worst {s.worst_percent:6.2f}"
            f" ({s.worst_elevation_deg:g} deg) trough {s.trough_percent:5.1f} to"
            f" {s.trough_worst_percent:5.1f} back {s.back_percent:5.1f} kept {s.kept_percent:5.1f}"
        )
    print("\n".join(["", *refined(rows)]))
    print("\nround jet, slat 9 mm high, bay 20 mm: share that leaves over the edges")
    for angle in (90.0, 60.0, 45.0):
        shares = [within_bay(20.0, 9.0, angle, x_mm=x) for x in (0.0, 5.0)]
        print(f"at {angle:g} deg: in the bay's middle {shares[0]:.3f}, 5 mm aside {shares[1]:.3f}")
    print(f"its film 10 mm away {film_mm(10.0, 6.0):.2f} mm")


if __name__ == "__main__":
    main()
