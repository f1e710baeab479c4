"""Stacks as rows of the tables of solved flows, and the runs that no correction was made from.

``data/unseen_runs.csv`` holds solutions of the plane solver for stacks that lie between, or beyond,
the points of the calibration table. They correct nothing: they measure how far the corrected model
is off (:func:`vent_family.evidence.air.losses.band`). ``tools/check_calibration.py`` adds to them.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from vent_family.spec.forms import IN, OUT
from vent_family.spec.stack import Stack

UNSEEN: Final = Path(__file__).with_name("data") / "unseen_runs.csv"
SLOPE_WORDS: Final = {OUT: "out", IN: "in"}


def rows_of(path: Path) -> list[dict[str, str]]:
    """Return a table's rows by column; lines that begin with # are remarks."""
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def stack_of(row: Mapping[str, str]) -> Stack:
    """Return the stack that a row's columns describe.

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 4.0), 0.5, (OUT, IN, OUT))
    >>> stack_of(columns_of(stack)) == stack
    True
    """
    slopes = {word: slope for slope, word in SLOPE_WORDS.items()}
    return Stack(
        row["form"],
        float(row["thickness_mm"]),
        float(row["pitch_mm"]),
        float(row["slat_height_mm"]),
        tuple(float(gap) for gap in row["gaps_mm"].split("/") if gap),
        float(row["shift"]),
        tuple(slopes[word] for word in row["slopes"].split("-")),
        float(row.get("foot_mm") or 0.0),
    )


def columns_of(stack: Stack) -> dict[str, str]:
    """Return the columns that describe a stack.

    Examples
    --------
    >>> columns_of(Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (OUT, OUT)))["gaps_mm"]
    '4'
    """
    return {
        "form": stack.form,
        "thickness_mm": f"{stack.thickness_mm:g}",
        "pitch_mm": f"{stack.pitch_mm:g}",
        "slat_height_mm": f"{stack.slat_height_mm:.12g}",
        "gaps_mm": "/".join(f"{gap:g}" for gap in stack.gaps_mm),
        "shift": f"{stack.shift:.12g}",
        "slopes": "-".join(SLOPE_WORDS[slope] for slope in stack.slopes),
        "foot_mm": f"{stack.foot_mm:g}",
    }


@dataclass(frozen=True, slots=True)
class UnseenRun:
    """One plane solution that corrects nothing; ``k`` and ``k_spread`` in face velocity heads.

    ``name`` says what is unusual; ``re`` is the passage Reynolds number, ``cells`` the nodes
    across a passage; ``speed`` (lattice units), ``blocks`` and ``settled`` are those of
    :class:`vent_family.evidence.air.flow2d.MeanFlow`.
    """

    name: str
    stack: Stack
    re: float
    cells: int
    speed: float
    blocks: int
    k: float
    k_spread: float
    settled: bool


def read_unseen() -> list[UnseenRun]:
    """Return the file's rows."""
    return [
        UnseenRun(
            row["name"],
            stack_of(row),
            float(row["re"]),
            int(row["cells"]),
            float(row["speed"]),
            int(row["blocks"]),
            float(row["k"]),
            float(row["k_spread"]),
            row["settled"] == "True",
        )
        for row in rows_of(UNSEEN)
    ]
