"""``vent-family print-check`` and ``cost`` as an engineer and a product manager use them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.catalog.attached import Attached
from vent_family.catalog.model import CatalogRow
from vent_family.front.cli import cost
from vent_family.front.cli.app import app
from vent_family.release import costs
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

ROWS = (
    "part_number,family,size,status,slat_form,slat_thickness_mm,rib_count\n"
    "A-40,rectangular,40x40,released,folded,,\n"
    "A-WEAK,rectangular,60x50,draft,flat,0.8,1\n"
    "A-BAD,rectangular,60x60,draft,,,40\n"
)

SHOP_TABLE = Path(__file__).parents[2] / "vent_family" / "base" / "shop.toml"


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "small.csv"
    path.write_text(ROWS, encoding="utf-8")
    return path


def run(*words: str | Path) -> Any:
    return CliRunner().invoke(app, [str(w) for w in words])


def test_print_says_whether_it_prints(catalog: Path, tmp_path: Path) -> None:
    picture = tmp_path / "bridges.png"
    result = run("print-check", "A-40", "-c", catalog, "--picture", picture)
    assert result.exit_code == 0, result.output
    assert "no supports" in result.output
    # It is about printing: water is neither computed nor told.
    assert "Will water" not in result.output
    assert picture.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_print_in_json(catalog: Path) -> None:
    data = answered(run("print-check", "a-40", "-c", catalog, "--json").output)
    assert data["part_number"] == "A-40"
    assert {c["verdict"] for c in data["checks"]} == {"pass"}
    assert data["shop"]["table"] == "demo rates, invented"


def test_weak_part_ends_with_one(catalog: Path) -> None:
    result = run("print-check", "A-WEAK", "-c", catalog, "--json")
    assert result.exit_code == 1
    failed = [c["name"] for c in answered(result.output)["checks"] if c["verdict"] == "fail"]
    assert failed == ["strength: slat under a thumb"]


def test_bad_row_is_explained(catalog: Path) -> None:
    result = run("print-check", "A-BAD", "-c", catalog)
    assert result.exit_code == 1
    assert "row 4" in result.output
    assert "column rib_count" in result.output


def numbers(data: object) -> list[float]:
    """Return every value of a JSON text that looks like a number; a text that does is a fault."""
    if isinstance(data, dict):
        return [n for value in data.values() for n in numbers(value)]
    if isinstance(data, list):
        return [n for value in data for n in numbers(value)]
    if isinstance(data, str):
        assert not re.fullmatch(r"[\d,.]+", data), f"{data!r} is a text"
        return []
    return [] if data is None or isinstance(data, bool) else [data]


def test_cost_in_json_is_numbers_and_the_same_from_two_processes(
    catalog: Path, tmp_path: Path
) -> None:
    words = ("cost", "-c", catalog, "--only", "A-40", "--only", "A-WEAK", "--json")
    alone = run(*words, "--jobs", "1")
    data = answered(alone.stdout)
    assert data == answered(run(*words, "--jobs", "2").stdout)
    assert alone.stderr == ""
    assert len(numbers(data["parts"])) > 100
    assert [p["part_number"] for p in data["parts"]] == ["A-40", "A-WEAK"]
    first = data["parts"][0]
    assert {"printed_mass_g", "time_s", "currency"} <= set(first)
    assert [o["parts"] for o in first["cost"]["orders"]] == [1, 100, 1000, 10_000]
    assert len(first["limits"]) == 4
    assert [w["print_orientation"] for w in first["ways"]] == ["face_down", "upright"]
    assert data["shop"]["table"] == "demo rates, invented"
    # Its rows that cannot be priced are told with the rest of the file's problems.
    whole = run("cost", "-c", catalog, "--only", "A-*", "--json")
    assert whole.exit_code == 1
    assert [p["part_number"] for p in answered(whole.stdout)["problems"]] == ["A-BAD"]


def test_a_fault_in_one_row_does_not_cost_the_others(
    catalog: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def explode(row: CatalogRow, *named: Attached) -> VentSpec:
        if row.part_number == "A-WEAK":
            raise RuntimeError("no way through")
        return resolve(row, *named)

    monkeypatch.setattr(costs, "resolve", explode)
    # Several rows are priced in processes of their own, which know nothing of the fault.
    monkeypatch.setattr(
        cost, "side_by_side", lambda jobs, _n, _done, work, _lost: [*map(work, jobs)]
    )
    words = ("cost", "-c", catalog, "--only", "A-40", "--only", "A-WEAK", "--jobs", "1", "--json")
    result = run(*words)
    assert result.exit_code == 1
    data = answered(result.stdout)
    assert [p["part_number"] for p in data["parts"]] == ["A-40"]
    (problem,) = data["problems"]
    assert problem["part_number"] == "A-WEAK"
    assert problem["code"] == "release.part.error"
    assert problem["message"] == "the part could not be built: RuntimeError: no way through"


def test_cost_of_one_part_for_a_product_manager(catalog: Path, tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    result = run("cost", "A-40", "-c", catalog, "--pictures", folder)
    assert result.exit_code == 0, result.output
    words = ("10,000", "price USD", "days", "% ", "Printed upright instead", "Moulded in", "pays")
    for word in (*words, "cut from sheet"):
        assert word in result.output
    assert (folder / "A-40-cost.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert (folder / "A-40-cost.svg").read_bytes()[:5] == b"<?xml"


def test_cost_table_with_own_rates(catalog: Path, tmp_path: Path) -> None:
    text = SHOP_TABLE.read_text(encoding="utf-8")
    own = tmp_path / "own.toml"
    own.write_text(text.replace("margin = 0.25", "margin = 1.5"), encoding="utf-8")
    shown = run("cost", "-c", catalog, "--only", "A-40", "--shop", own).output
    demo = answered(run("cost", "A-40", "-c", catalog, "--json").stdout)
    dear = answered(run("cost", "A-40", "-c", catalog, "--shop", own, "--json").stdout)
    prices = [d["parts"][0]["cost"]["orders"][2]["price"] for d in (demo, dear)]
    assert prices[1] / prices[0] == pytest.approx(2.5 / 1.25)
    assert f"{prices[1]:.2f}" in shown
    assert "Price per part, USD" in shown
    # The margin is not on them: 1.5 leaves them as they were.
    cuts = {d["parts"][0]["cost"]["cut_stack_piece"] for d in (demo, dear)}
    assert len(cuts) == 1
    assert f" {cuts.pop():.2f} " in shown
    assert "tool and cut plates: compared at cost, without margin" in shown
    assert dear["shop"]["table"] == "own.toml"


def test_build_states_whose_table_priced_a_part(catalog: Path, tmp_path: Path) -> None:
    """The record names table and hash, by content: a comment leaves it, a price changes it."""
    text = SHOP_TABLE.read_text(encoding="utf-8")
    own, same = tmp_path / "own.toml", tmp_path / "same.toml"
    own.write_text(text.replace("ASA = 19.0", "ASA = 38.0"), encoding="utf-8")
    same.write_text("# mine\n" + text.replace("ASA = 19.0", "ASA = 19"), encoding="utf-8")
    found = {}
    for name, options in (("demo", ()), ("own", ("--shop", own)), ("same", ("--shop", same))):
        out = tmp_path / name
        words = ("build", "-c", catalog, "--only", "A-40", "--out", out, "--publish-if", "any")
        told = answered(run(*words, *options, "--json").output)
        record = json.loads((out / "A-40" / "A-40.json").read_text(encoding="utf-8"))
        assert record["shop"] == told["shop"]
        assert told["parts"][0]["facts"]["shop_hash"] == record["shop"]["table_hash"]
        found[name] = record
    assert [found[n]["shop"]["table"] for n in found] == [
        "demo rates, invented",
        "own.toml",
        "same.toml",
    ]
    hashes = {n: r["shop"]["table_hash"] for n, r in found.items()}
    assert hashes["demo"] == hashes["same"] != hashes["own"]
    costs = {n: r["printing"]["cost"]["orders"][1]["material"] for n, r in found.items()}
    assert costs["same"] == costs["demo"]
    assert costs["own"] == pytest.approx(2.0 * costs["demo"])
    assert found["own"]["identity"]["row_hash"] == found["demo"]["identity"]["row_hash"]


def test_build_refuses_a_table_it_cannot_read(catalog: Path, tmp_path: Path) -> None:
    result = run("build", "-c", catalog, "--out", tmp_path / "out", "--shop", tmp_path / "no.toml")
    assert result.exit_code == 2
    assert "no.toml: the table of rates cannot be read" in result.output
    assert not (tmp_path / "out").exists()


def test_build_refuses_a_table_too_coarse_for_any_part(catalog: Path, tmp_path: Path) -> None:
    """A 0.6 mm nozzle is the table's fault: told at once, of no row, and nothing is touched."""
    own = tmp_path / "own.toml"
    text = SHOP_TABLE.read_text(encoding="utf-8")
    own.write_text(text.replace("nozzle_mm = 0.4", "nozzle_mm = 0.6"), encoding="utf-8")
    result = run("build", "-c", catalog, "--out", tmp_path / "out", "--shop", own)
    assert result.exit_code == 2
    assert "own.toml, entry printing.nozzle_mm: coarser than the parts are designed for" in (
        result.output
    )
    assert "A-40" not in result.output
    assert not (tmp_path / "out").exists()


def test_bad_rates_are_refused_in_a_sentence(catalog: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text("currency = 5", encoding="utf-8")
    result = run("cost", "-c", catalog, "--shop", own)
    assert result.exit_code == 2
    assert "own.toml" in result.output
    assert "Traceback" not in result.output
    missing = run("print-check", "A-40", "-c", catalog, "--shop", tmp_path / "none.toml")
    assert missing.exit_code == 2
    assert "cannot be read" in missing.output


def test_a_shop_coarser_than_the_design_is_told(catalog: Path, tmp_path: Path) -> None:
    """Layers of 0.25 mm where the parts are designed for 0.2 mm."""
    text = (Path(__file__).parents[2] / "vent_family" / "base" / "shop.toml").read_text(
        encoding="utf-8"
    )
    own = tmp_path / "own.toml"
    own.write_text(text.replace("\nlayer_mm = 0.2\n", "\nlayer_mm = 0.25\n"), encoding="utf-8")
    sound = run("check", "-c", catalog, "--only", "A-40")
    assert sound.exit_code == 0, sound.output
    told = run("check", "-c", catalog, "--only", "A-40", "--shop", own)
    assert told.exit_code == 1
    assert "entry printing.layer_mm" in told.output
    assert "at most 0.2 mm" in told.output
    data = answered(run("print-check", "A-40", "-c", catalog, "--shop", own, "--json").output)
    failed = [c["name"] for c in data["checks"] if c["verdict"] == "fail"]
    assert "print: settings the parts are designed for" in failed
    assert data["printing"]["settings"]["layer_mm"] == 0.25
    priced = run("cost", "-c", catalog, "--only", "A-40", "--shop", own)
    assert priced.exit_code == 1
    assert "A-40" in priced.output
    assert "entry printing.layer_mm" in priced.output
    built = run("build", "-c", catalog, "--out", tmp_path / "out", "--shop", own)
    assert built.exit_code == 2
    assert "entry printing.layer_mm" in built.output
    assert not (tmp_path / "out").exists()
