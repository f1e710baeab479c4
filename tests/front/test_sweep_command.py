"""``vent-family sweep``: a table, whole or as far as it came."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered, refused
from vent_family.front.cli.app import app
from vent_family.proposing import sweep
from vent_family.proposing.answer import QUICK
from vent_family.proposing.run import USUAL
from vent_family.proposing.sweep import SweptRequirement, Variation

ASKED: Final = '[opening]\nsize = "40x40"\n[water]\nexposure = "dry"\n'
CATALOG: Final = "part_number,family,size,status\nV-1,rectangular,40x40,draft\n"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "asked.toml").write_text(ASKED)
    (tmp_path / "catalog.csv").write_text(CATALOG)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> tuple[int, str]:
    vary = ("--vary", "order.quantity=100:300:100", "--out", "table.csv")
    found = CliRunner().invoke(app, ["sweep", "asked.toml", *vary, *words])
    return found.exit_code, found.output


def best(one: Variation, price: float) -> SweptRequirement:
    cells = {"part_number": "TRIAL", "size": "40x40", "slat_form": "flat"}
    return SweptRequirement(one.values, {"cheapest": ((price, 0.0, 20.0, 0.0), cells)}, 7)


def backwards(
    after: int, seen: list[Variation]
) -> Callable[[Sequence[Variation]], list[SweptRequirement]]:
    """Return a sweep that tells the last requirement first and is broken off after so many."""

    def swept(
        wanted: Sequence[Variation], *, told: Callable[[SweptRequirement], None], **_: Any
    ) -> list[SweptRequirement]:
        seen.extend(wanted)
        for n, one in enumerate(reversed(wanted)):
            if n == after:
                raise KeyboardInterrupt
            told(best(one, 1.5))
        return [best(one, 1.25) for one in wanted]

    return swept


def test_the_table_is_in_the_order_of_the_values(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[Variation] = []
    monkeypatch.setattr(sweep, "swept_all", backwards(9, seen))
    code, text = run("--json")
    found = answered(text)
    assert (code, found["interrupted"]) == (0, False)
    assert [one["values"]["order.quantity"] for one in found["swept"]] == [100, 200, 300]
    lines = list(csv.DictReader((place / "table.csv").open()))
    assert [line["order.quantity"] for line in lines] == ["100", "200", "300"]
    # What counts is what they are worth at last, each tried with the others' rows.
    assert {line["price"] for line in lines} == {"1.25"}
    assert {one.depth for one in seen} == {USUAL}
    assert run("--quick")[0] == 0
    assert {one.depth for one in seen[3:]} == {QUICK}


def test_broken_off_what_was_searched_is_told_and_written(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep, "swept_all", backwards(2, []))
    code, text = run()
    assert code == 130
    assert "Interrupted: 2 of 3 were searched." in text
    lines = list(csv.DictReader((place / "table.csv").open()))
    assert [line["order.quantity"] for line in lines] == ["200", "300"]
    code, text = run("--json")
    assert (code, answered(text)["interrupted"]) == (130, True)


def test_broken_off_before_anything_is_found_nothing_is_written(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep, "swept_all", backwards(0, []))
    code, text = run("--json")
    assert (code, refused(text)[0]["code"]) == (130, "command.interrupted")
    assert not (place / "table.csv").exists()
