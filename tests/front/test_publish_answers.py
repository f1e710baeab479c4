"""What ``publish`` and ``verify`` answer, the library's own files, and the reports of a night.

Rows are made by a quick job that writes files of a few bytes; everything else is the real thing.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import jsonschema
import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered, printed_schema, refused
from tests.release.publish.quick import catalogue, here, line
from vent_family.base.lock import held_lock
from vent_family.front.cli.app import app
from vent_family.release.publish import publish as publish_module
from vent_family.release.publish.layout import Layout
from vent_family.release.publish.publish import Order, Published, Told

TWO = (line("A-1"), line("A-2"))


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    real = publish_module.publish_catalog

    def quickly(order: Order, told: Told) -> Published:
        return real(replace(order, runner=here, still_s=1.0, beat_s=0.1), told)

    monkeypatch.setattr(publish_module, "publish_catalog", quickly)


def run(*words: str | Path) -> tuple[int, str]:
    result = CliRunner().invoke(app, [str(w) for w in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout


def publish(path: Path, *words: str | Path) -> tuple[int, str]:
    return run("publish", "-c", path, "--out", path.parent / "out", *words)


def outcomes(answer: dict[str, Any]) -> dict[str, str]:
    return {p["part_number"]: p["outcome"] for p in answer["parts"]}


def test_publish_verify_and_the_plan_answer_in_their_schemas(tmp_path: Path) -> None:
    path = catalogue(tmp_path, *TWO, line("A-3", words="fails"), line("A-4", "draft"))
    code, text = publish(path, "--dry-run", "--json")
    assert (code, len(answered(text)["planned"])) == (0, 4)
    code, text = publish(path, "--json")
    assert code == 1
    assert outcomes(answered(text)) == {
        "A-1": "written", "A-2": "written", "A-3": "failed", "A-4": "checked",
    }  # fmt: skip
    code, text = publish(path, "--json")
    assert outcomes(answered(text))["A-1"] == "unchanged"
    code, text = run("verify", tmp_path / "out", "--json")
    assert (code, answered(text)["findings"]) == (0, [])
    (altered,) = (tmp_path / "out").rglob("A-1.stl")
    altered.write_text("other")
    code, text = run("verify", tmp_path / "out", "--json")
    (finding,) = answered(text)["findings"]
    assert (code, finding["fault"]) == (1, "altered")


def test_a_withdrawn_part_and_an_orphan_are_told(tmp_path: Path) -> None:
    publish(catalogue(tmp_path, *TWO, line("A-3")))
    code, text = publish(catalogue(tmp_path, line("A-1", "retired"), line("A-2")), "--json")
    answer = answered(text)
    assert (code, answer["orphans"]) == (0, ["A-3"])
    assert outcomes(answer)["A-1"] == "withdrawn"


def test_manifest_and_index_keep_their_schemas(tmp_path: Path) -> None:
    publish(catalogue(tmp_path, *TWO))
    library = json.loads((tmp_path / "out" / "library.json").read_text(encoding="utf-8"))
    manifest = json.loads((tmp_path / "out" / library["manifest"]["name"]).read_text("utf-8"))
    for name, data in (("library", library), ("manifest", manifest)):
        schema = printed_schema(name)
        jsonschema.Draft202012Validator(schema).validate(data)
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(schema).validate(data | {"more": 1})


def test_the_reports_of_a_night(tmp_path: Path) -> None:
    publish(catalogue(tmp_path, *TWO))
    path = catalogue(
        tmp_path, line("A-1", words="fails"), line("A-2", words="other"), line("A-5", "retired")
    )
    places = {option: tmp_path / option for option in ("junit", "summary", "log", "report")}
    words = [w for option, place in places.items() for w in (f"--{option}", place)]
    code, text = publish(path, "--json-lines", *words)
    assert code == 1
    *rows, whole = map(answered, text.splitlines())
    assert {r["part_number"]: r["outcome"] for r in rows} == {"A-1": "failed", "A-2": "written"}
    assert whole == answered(places["report"].read_text(encoding="utf-8"))
    cases = {c.get("name"): c for c in ET.parse(places["junit"]).getroot().iter("testcase")}
    assert cases.keys() == {"A-1", "A-2", "A-5"}
    assert cases["A-1"].find("failure") is not None
    assert cases["A-5"].find("skipped") is not None
    assert len(cases["A-2"]) == 0
    mail = places["summary"].read_text(encoding="utf-8")
    assert mail.index("NOT MADE") < mail.index("A-1") < mail.index("CHANGED") < mail.index("A-2")
    log = places["log"].read_text(encoding="utf-8")
    assert [w for w in log.split() if w.isupper() and len(w) > 4] == ["FAILED"]


def test_a_second_publisher_is_told_so_in_json(tmp_path: Path) -> None:
    path = catalogue(tmp_path, *TWO)
    publish(path)
    junit = tmp_path / "junit.xml"
    with held_lock(Layout(tmp_path / "out").lock, still_s=1.0, beat_s=0.1):
        code, text = publish(path, "--json", "--junit", junit)
    (failure,) = ET.parse(junit).getroot().iter("failure")
    assert failure.get("type") == "library.lock.held"
    (problem,) = refused(text)
    assert (code, problem["code"]) == (3, "library.lock.held")


def test_an_interrupted_publisher_says_so_in_json(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(publish_module, "publish_catalog", stopped)
    code, text = publish(catalogue(tmp_path, *TWO), "--json-lines")
    (problem,) = refused(text)
    assert (code, problem["code"]) == (130, "command.interrupted")
    assert text.count("\n") == 1
