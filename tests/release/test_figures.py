"""The figures of a record: what counts as one, its words, and how two records are compared."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import pytest

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact
from vent_family.release.figures import (
    NO_FIGURES,
    evidence_hash,
    figures,
    got_worse,
    other_figures,
)


@dataclass(frozen=True)
class Jet:
    name: Annotated[str, Fact("which water")]
    push_pa: Annotated[float, Fact("push of the jet", "Pa")]
    verdict: Annotated[Literal["holds", "fails"], Fact("predicted outcome")]


class Flow(Frozen):
    found_m3_h: Annotated[float, Fact("air that passes", "m3/h")]
    in_range: Annotated[bool, Fact("whether the table holds it")]


class Asked(Frozen):
    """What is asked for is declared first, though files hold the fields in another order."""

    pressure_pa: Annotated[float, Fact("pressure", "Pa")]
    flow: Annotated[Flow, Fact("answer")]


class Limit(Frozen):
    name: Annotated[str, Fact("what")]
    value: Annotated[float | None, Fact("measured", "{unit}")]
    unit: Annotated[str, Fact("unit of the value")]
    message: Annotated[str, Fact("in words")]


class Record(Frozen):
    time_stamp: Annotated[str, Fact("when")]
    files: Annotated[list[str], Fact("files")]
    catalogue: Annotated[dict[str, str], Fact("cells")]
    mass_g: Annotated[float, Fact("mass", "g", index="mass_g")]
    depth_mm: Annotated[float, Fact("depth", "mm", attribute="depth_mm")]
    ribs: Annotated[int, Fact("ribs")]
    size_mm: Annotated[tuple[float, float], Fact("width and height", "mm")]
    answers: Annotated[list[Asked], Fact("answers")]
    waters: Annotated[tuple[Jet, ...], Fact("waters")]
    limits: Annotated[list[Limit], Fact("limits")]
    remark: Annotated[str, Fact("in words")]


RECORD = Record(
    time_stamp="2026-03-04T05:06:07Z",
    files=["a.step"],
    catalogue={"size": "40x40"},
    mass_g=83.21258,
    depth_mm=22.4641016,
    ribs=3,
    size_mm=(40.0, 42.0),
    answers=[
        Asked(pressure_pa=p, flow=Flow(found_m3_h=f, in_range=True))
        for p, f in ((10.0, 5.0), (25.0, 5.0))
    ],
    waters=(Jet("rain", 1.25, "holds"), Jet("hose", 1.25, "fails")),
    limits=[Limit(name="edge", value=0.123456, unit="mm", message="long enough")],
    remark="as it is",
).model_dump(mode="json")


def found(**changes: Any) -> dict[str, Any]:
    return figures(RECORD | changes, Record)


def test_numbers_and_verdicts_are_figures_and_words_are_not() -> None:
    told = {place: f"{f.words} = {f.text()}" for place, f in found().items()}
    assert told == {
        "mass_g": "mass = 83.213 g",
        "depth_mm": "depth = 22.464 mm",
        "ribs": "ribs = 3",
        "size_mm": "width and height = 40 / 42 mm",
        "answers[10].pressure_pa": "answers 10: pressure = 10 Pa",
        "answers[10].flow.found_m3_h": "answers 10, flow: air that passes = 5 m3/h",
        "answers[10].flow.in_range": "answers 10, flow: whether the table holds it = yes",
        "answers[25].pressure_pa": "answers 25: pressure = 25 Pa",
        "answers[25].flow.found_m3_h": "answers 25, flow: air that passes = 5 m3/h",
        "answers[25].flow.in_range": "answers 25, flow: whether the table holds it = yes",
        "waters[rain].push_pa": "waters rain: push of the jet = 1.25 Pa",
        "waters[rain].verdict": "waters rain: predicted outcome = holds",
        "waters[hose].push_pa": "waters hose: push of the jet = 1.25 Pa",
        "waters[hose].verdict": "waters hose: predicted outcome = fails",
        "limits[edge].value": "limits edge: measured = 0.123 mm",
    }
    assert [found()[name].rank for name in ("mass_g", "depth_mm", "ribs")] == [0, 1, 2]


def test_a_record_read_from_a_file_has_the_same_figures() -> None:
    """Files hold their keys sorted, so the fields come in another order."""
    read = json.loads(json.dumps(RECORD, sort_keys=True))
    assert figures(read, Record) == found()
    assert evidence_hash(figures(read, Record)) == evidence_hash(found())


@pytest.mark.parametrize(
    "change",
    [
        {"time_stamp": "2027-01-01T00:00:00Z"},
        {"files": []},
        {"catalogue": {"size": "40x40", "x_shelf": "7"}},
        {"remark": "said otherwise"},
        {"mass_g": 83.21349},
        {"limits": [RECORD["limits"][0] | {"message": "long enough, still"}]},
        {"waters": list(reversed(RECORD["waters"]))},
        {"release": {"issue": 7.0}},
    ],
)
def test_what_is_no_other_figure_leaves_the_hash_alone(change: dict[str, Any]) -> None:
    assert evidence_hash(found(**change)) == evidence_hash(found())
    assert other_figures(found(), found(**change)) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"mass_g": 83.2139}, "mass: 83.214 g, before 83.213 g"),
        ({"ribs": 4}, "ribs: 4, before 3"),
        ({"size_mm": [40.0, 43.0]}, "width and height: 40 / 43 mm, before 40 / 42 mm"),
        ({"waters": RECORD["waters"][:1]}, "waters hose: push of the jet: no longer stated"),
        ({"extra_mm": 1.5}, "extra mm: 1.5, not stated before"),
    ],
)
def test_another_figure_is_told_and_hashed(change: dict[str, Any], told: str) -> None:
    assert evidence_hash(found(**change)) != evidence_hash(found())
    assert other_figures(found(), found(**change))[0].startswith(told)


def test_key_figures_come_first() -> None:
    now = found(ribs=4, depth_mm=23.0, mass_g=90.0)
    told = [words.split(":")[0] for words in other_figures(found(), now)]
    assert told == ["mass", "depth", "ribs"]


def test_verdicts_that_got_worse_are_told_apart() -> None:
    rain, hose = RECORD["waters"]
    worse = found(waters=[rain | {"verdict": "fails"}, hose], ribs=4)
    assert got_worse(found(), worse) == ["waters rain: predicted outcome: fails, before holds"]
    assert other_figures(found(), worse) == ["ribs: 4, before 3"]
    better = found(waters=[rain, hose | {"verdict": "holds"}])
    assert got_worse(found(), better) == []
    assert other_figures(found(), better) == ["waters hose: predicted outcome: holds, before fails"]


def test_the_sections_left_out_are_those_of_the_record() -> None:
    from vent_family.release.record import record_type

    assert set(record_type().model_fields) >= NO_FIGURES
