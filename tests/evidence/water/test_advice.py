"""Water advice is followed as it is told, and the vent judged anew under all its exposures."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.helpers.following import advised_cells, read_row
from tests.helpers.rows import row
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.outcomes import RANK
from vent_family.evidence.water.advice import Trials
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import Conditions, conditions_of
from vent_family.evidence.water.report import WaterReport, severity
from vent_family.evidence.water.setup import Setup
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

NOTHING = "no change of one, two or three columns that was tried"
ROWS: list[tuple[str, str, dict[str, Any]]] = [
    ("low sill", "rectangular", {"sill_height_mm": 8.0, "face_velocity_m_s": 1.5}),
    ("suction", "rectangular", {"extra_depression_pa": 150.0, "exposure": "dripping"}),
    ("lean", "rectangular", {"mounting_tilt_deg": 12.0, "exposure": "dripping"}),
    ("nozzle", "flanged", {"exposure": "hose_down", "size": "120x120"}),
    (
        "narrower lip",
        "rectangular",
        {
            "size": "50x50",
            "exposure": "dripping",
            "face_velocity_m_s": 0.5,
            "extra_depression_pa": 35.0,
            "sill_height_mm": 16.0,
        },
    ),
    (
        "gasket",
        "rectangular",
        {
            "exposure": "dripping",
            "face_velocity_m_s": 0.5,
            "extra_depression_pa": 60.0,
            "sill_height_mm": 20.0,
        },
    ),
    ("two kinds", "rectangular", {"exposure": "driving_rain/dripping", "size": "50x50"}),
]


def report_of(made: CatalogRow, *, advise: bool = False) -> WaterReport:
    vent = resolve(made)
    return assess(vent, conditions_of(vent), advise=advise)


@pytest.mark.parametrize(("name", "family", "cells"), ROWS, ids=[name for name, *_ in ROWS])
def test_following_the_advice_does_what_it_says(
    name: str, family: str, cells: dict[str, Any]
) -> None:
    first = row(family, **cells)
    before = report_of(first, advise=True)
    ranks = {e.name: RANK[e.verdict.outcome] for e in before.exposures}
    assert any(ranks.values()), "the row holds as it is"
    for exposure in before.exposures:
        change = exposure.verdict.change
        if exposure.verdict.outcome == "holds":
            assert change == ""
            continue
        assert change
        typed = advised_cells(
            change.removeprefix(f"{NOTHING} is enough; what comes nearest: ").split(" (")[0]
        )
        if change.startswith(f"{NOTHING} helps"):
            assert typed == {}
            continue
        assert 1 <= sum(text != "" for text in typed.values()) <= 3
        after = {e.name: e for e in report_of(read_row(first.model_dump() | typed)).exposures}
        now = after[exposure.name]
        promised = re.search(r"\(then predicted to (hold|be marginal)\)", change)
        if promised:
            assert now.verdict.outcome == {"hold": "holds", "be marginal": "marginal"}[promised[1]]
            assert RANK[now.verdict.outcome] < ranks[exposure.name]
            for alone in typed if set(typed) == {"sill_height_mm", "drain_height_mm"} else ():
                cheaper = report_of(read_row(first.model_dump() | {alone: typed[alone]}))
                (one,) = [e for e in cheaper.exposures if e.name == exposure.name]
                assert RANK[one.verdict.outcome] > RANK[now.verdict.outcome], alone
        else:
            left = re.search(r"at most ([\d.]+) (mL pass|% of the jet gets inside)", change)
            assert left
            scale = 1000.0 if left[2] == "mL pass" else 100.0
            was, is_now = severity(exposure)[1], severity(now)[1]
            assert scale * is_now == pytest.approx(float(left[1]), rel=0.06)
            assert is_now < 0.7 * was or RANK[now.verdict.outcome] < ranks[exposure.name]
        for other, found in after.items():
            assert RANK[found.verdict.outcome] <= ranks[other], other


def test_a_fan_is_not_advised_another_face_velocity() -> None:
    fan = row("rectangular", fan="pump-hall-120", exposure="dripping")
    for exposure in report_of(fan, advise=True).exposures:
        assert "face_velocity" not in exposure.verdict.change


def test_a_hopeless_row_takes_few_changed_vents(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[CatalogRow] = []
    setup = Trials.setup

    def counted(trials: Trials, vent: VentSpec, conditions: Conditions) -> Setup:
        made.append(vent.row)
        return setup(trials, vent, conditions)

    monkeypatch.setattr(Trials, "setup", counted)
    report = report_of(
        row("rectangular", size="50x50", slat_form="folded", exposure="splashing"), advise=True
    )
    assert report.exposures[0].verdict.change
    assert 2 <= len(set(made)) - 1 <= 6
