"""``propose`` tells, draws and adds what a search finds; wrong input is told before it searches."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import vent_family
from tests.helpers.answers import answered, refused
from vent_family.base.problems import InputError
from vent_family.base.shop import demo_shop
from vent_family.catalog.reader import parse_catalog, read_catalog
from vent_family.evidence.cost.foretold import foretold_price
from vent_family.evidence.cost.sheet import PartToPrint
from vent_family.evidence.printing.foretold import foretold_vent
from vent_family.evidence.result import CheckResult
from vent_family.front.cli.app import app
from vent_family.front.parts import Parts
from vent_family.proposing import answer, crew, told
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.run import Depth
from vent_family.proposing.search import SearchEffort
from vent_family.release.cautions import CAUTION
from vent_family.spec.resolve import resolve

CATALOG = (
    "# hall\r\npart_number;family;size;status;slat_form;bank_count\r\n"
    "HV-R040;rectangular;40x40;released;folded;1\r\n# end\r\n"
)
ASKED = """
name = "Feed hall: drive box"
[opening]
size = "40x40"
families = "rectangular"
[cabinet]
heat_w = 15
ambient_c = 30
limit_c = 45
[air]
fan = "tank-hall-92"
[water]
exposure = "dry"
[order]
quantity = 500
print_orientation = "face_down"
[cells]
slat_form = "folded"
bank_count = 1
"""
FEW = Depth(
    SearchEffort(rows=8, generations=2, wetted=4, drawn=8), rounds=0, wet=2, ends=3, lesser=1
)


def unbuilt(enquiry: Enquiry, candidates: Sequence[Candidate]) -> list[Confirmed]:
    """Return candidates as if their solids had passed, with foretold bodies."""
    found = []
    for candidate in candidates:
        spec = resolve(candidate.row, enquiry.attached(candidate.row))
        body = PartToPrint.of(foretold_vent(spec, enquiry.rates.shop))
        found.append(Confirmed(candidate, (CheckResult("solid", "pass", ""),), (), (body,)))
    return found


@pytest.fixture(autouse=True)
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "confirm_all", unbuilt)
    monkeypatch.setattr(answer, "QUICK", FEW)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "catalog.csv").write_bytes(CATALOG.encode())
    (tmp_path / "hall.toml").write_text(ASKED, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["propose", *words, "--quick", "--jobs", "1"])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def test_what_is_proposed_is_told_drawn_and_added(place: Path) -> None:
    code, text = run("hall.toml", "--append", "--out", "pictures", "--json")
    found = answered(text)
    assert (code, found["problems"], found["interrupted"]) == (0, [], False)
    assert found["caution"] == CAUTION
    assert [k["part_number"] for k in found["known"]] == ["HV-R040"]
    assert sorted(found["files"]) == sorted(p.name for p in (place / "pictures").iterdir())
    first = found["options"][0]
    assert first["titles"][0] == "cheapest"
    assert first["figures"]["price"] == min(o["figures"]["price"] for o in found["options"])
    # What was added is read back as the option that was told, and nothing else has changed.
    added = found["added"]
    assert (added["part_number"], added["row_number"]) == ("HV-R040A", 4)
    lines = (place / "catalog.csv").read_bytes().decode().split("\r\n")
    assert [line.rstrip(";") for line in (lines[0], lines[2], lines[4])] == [
        "# hall", "HV-R040;rectangular;40x40;released;folded;1", "# end",
    ]  # fmt: skip
    row = read_catalog(place / "catalog.csv").rows[1].row
    assert row.model_dump(exclude_none=True) == {
        "part_number": "HV-R040A",
        "revision": "A",
        "status": "draft",
        "description": "from Feed hall: drive box",
    } | parse_catalog(
        "part_number,status," + ",".join(first["cells"]) + "\nX,draft,"
        + ",".join(first["cells"].values()) + "\n"
    ).rows[0].row.model_dump(exclude_none=True, exclude={"part_number", "status"})  # fmt: skip
    checked = CliRunner().invoke(app, ["check"])
    assert checked.exit_code == 0, checked.output
    # Its price is that of its vent in an order of 500.
    spec = Parts("catalog.csv").spec("HV-R040A")
    foretold = foretold_price(spec, demo_shop(), 500)
    assert first["figures"]["price"] == pytest.approx(foretold.price, abs=0.006)
    assert first["figures"]["mass_g"] == pytest.approx(foretold.mass_g, abs=0.06)


def test_interrupted_the_best_so_far_is_told_and_nothing_is_added(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = answer.with_better

    def stopped(*words: Any) -> Any:
        raise KeyboardInterrupt

    monkeypatch.setattr(answer, "with_better", stopped)
    code, text = run("hall.toml", "--append", "--json")
    found = answered(text)
    assert (code, found["interrupted"], found["added"]) == (130, True, None)
    assert found["options"]
    assert [p["code"] for p in found["problems"]] == ["propose.option.none"]
    assert (place / "catalog.csv").read_bytes() == CATALOG.encode()
    monkeypatch.setattr(answer, "with_better", own)
    monkeypatch.setattr(answer, "known_parts", stopped)
    code, text = run("hall.toml", "--json")
    assert (code, refused(text)[0]["code"]) == (130, "command.interrupted")


def test_nothing_that_does_it_is_a_failure_with_what_would_have_to_give(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = ASKED.replace("quantity = 500", "quantity = 500\nprice_most = 0.05")
    (place / "hall.toml").write_text(text, encoding="utf-8")
    less = answer.Relaxation("order.price_most", "USD", 0.05, 1.23)
    monkeypatch.setattr(answer, "relaxations", lambda *_, **__: (less,))
    code, output = run("hall.toml")
    assert code == 1
    assert "No new row does what is asked." in output
    assert "order.price_most: 1.23 USD in place of 0.05 would do." in output
    assert "HV-R040 lacks: price: " in output


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["none.toml"], "none.toml"),
        (["hall.toml", "-c", "none.csv"], "none.csv"),
        (["hall.toml", "--shop", "none.toml"], "none.toml"),
    ],
)
def test_a_file_that_is_missing_is_one_sentence(place: Path, words: list[str], named: str) -> None:
    code, text = run(*words)
    assert code == 2
    assert named in text
    assert len(text.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ("tank-hall-92", "tank-hal-92", "entry air.fan"),
        ("heat_w = 15", 'heat_w = "15 kW"', "entry cabinet.heat_w"),
        ("limit_c = 45", "limit_c = 25", "limit"),
        ("[order]", "[orders]", "orders"),
    ],
)
def test_a_bad_requirement_is_refused_before_anything_is_tried(
    place: Path, monkeypatch: pytest.MonkeyPatch, old: str, new: str, named: str
) -> None:
    monkeypatch.setattr(answer, "answer_requirement", None)
    (place / "hall.toml").write_text(ASKED.replace(old, new), encoding="utf-8")
    code, text = run("hall.toml")
    assert code == 2
    assert text.startswith("hall.toml, ")
    assert named in text
    assert len(text.strip().splitlines()) == 1


def test_the_same_call_from_python_gives_the_same(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(answer, "with_better", lambda found, *_: (found, {}))
    _, text = run("hall.toml", "--json")
    found = answered(text)
    data = tomllib.loads(ASKED)
    mine = Parts("catalog.csv").propose(data, quick=True, jobs=1)
    assert [o.cells for o in mine.options] == [o["cells"] for o in found["options"]]
    assert [k.part_number for k in mine.known] == ["HV-R040"]
    assert [o.figures.price for o in mine.options] == [
        o["figures"]["price"] for o in found["options"]
    ]


def test_from_python_a_file_is_read_and_fans_lie_beside_the_catalogue(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fan = Path(vent_family.__file__).parent / "fans" / "tank-hall-92.csv"
    (place / "elsewhere").mkdir()
    (place / "elsewhere" / "own.csv").write_bytes(fan.read_bytes())
    (place / "elsewhere" / "vents.csv").write_bytes(CATALOG.encode())
    (place / "hall.toml").write_text(ASKED.replace("tank-hall-92", "own.csv"), encoding="utf-8")
    enquiries: list[Enquiry] = []
    monkeypatch.setattr(
        answer, "answer_requirement", lambda enquiry, **_: enquiries.append(enquiry)
    )
    monkeypatch.setattr(told, "proposal_told", lambda found: found)
    Parts("elsewhere/vents.csv").propose("hall.toml")
    assert enquiries[0].asked.name == "Feed hall: drive box"
    assert enquiries[0].fans["own.csv"][0] == fan.read_text(encoding="utf-8")
    with pytest.raises(InputError, match=r"own\.csv"):
        Parts("catalog.csv").propose("hall.toml")
