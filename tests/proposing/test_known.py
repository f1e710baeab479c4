"""What is told of a catalogue's parts agrees with the commands that judge one part alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.catalog.reader import read_catalog
from vent_family.evidence.air.predicted import predict
from vent_family.front.cli.app import app
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.known import KnownPart, known_parts
from vent_family.proposing.requirement import requirement_of
from vent_family.spec.resolve import resolve

CATALOG = """\
part_number,family,size,status,slat_form,slat_thickness_mm,material,print_orientation,\
panel_thickness_mm,exposure,face_velocity_m_s,fixing
K-40,rectangular,40x40,released,folded,1.2,ASA,face_down,1.5,rain,2.5,
K-50,rectangular,50x50,released,folded,,ASA,face_down,2,hose_down,,
K-60P,rectangular,60x60,draft,flat,0.8,PETG,face_down,2,dry,,screw
K-40U,rectangular,40x40,released,,,ASA,upright,2,,,
K-80,rectangular,80x80,released,,,ASA,,2,,,
K-OLD,rectangular,40x40,retired,,,ASA,,2,,,
K-N32,round,M32x1.5,released,,,ASA,,2,,,
"""
HEAT_W, LESS_W, AMBIENT_C, LIMIT_C = 20.0, 17.0, 30.0, 45.0
QUANTITY = 1000


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("known") / "catalog.csv"
    path.write_text(CATALOG, encoding="utf-8")
    return path


def known_in(catalog: Path, **sections: Any) -> dict[str, KnownPart]:
    crew = Crew(enquiry_of(requirement_of(sections)))
    rows = [source.row for source in read_catalog(catalog).rows]
    return {known.row.part_number: known for known in known_parts(crew, rows)}


COOL: dict[str, Any] = {
    "cabinet": {"heat_w": HEAT_W, "ambient_c": AMBIENT_C, "limit_c": LIMIT_C},
    "air": {"fan": "tank-hall-92"},
}


@pytest.fixture(scope="module")
def found(catalog: Path) -> dict[str, KnownPart]:
    return known_in(
        catalog,
        opening={"at_most": "60x60", "families": "rectangular", "panel_thickness_mm": 1.5},
        water={"exposure": "dripping"},
        order={"price_most": 1.25, "quantity": QUANTITY, "print_orientation": "face_down"},
        **COOL,
    )


def test_openings_that_are_not_asked_for_and_retired_parts_are_not_told(
    found: dict[str, KnownPart],
) -> None:
    assert set(found) == {"K-40", "K-50", "K-60P", "K-40U"}
    assert [k.row.part_number for k in found.values() if not k.released] == ["K-60P"]


def test_temperature_is_that_of_the_air_command(
    found: dict[str, KnownPart], catalog: Path, tmp_path: Path
) -> None:
    words = ["air", "K-40", "-c", str(catalog), "--fan", "tank-hall-92", "--out", str(tmp_path)]
    words += ["--heat", f"{HEAT_W}", "--ambient", f"{AMBIENT_C}", "--limit", f"{LIMIT_C}"]
    told = answered(CliRunner().invoke(app, [*words, "--json"]).output)
    known = found["K-40"]
    assert known.candidate.figures.rise_k == pytest.approx(told["rise_k"], rel=1e-9)
    kept = {m.name: m.kept for m in known.candidate.margins}
    assert kept["temperature"] == told["holds"]


def test_water_is_that_of_the_water_command(found: dict[str, KnownPart], catalog: Path) -> None:
    # The row's own rain and face velocity give way to the water and the fan that are asked for.
    words = ["water", "K-40", "-c", str(catalog), "-e", "dripping", "--fan", "tank-hall-92"]
    told = answered(CliRunner().invoke(app, [*words, "--json"]).output)
    known = found["K-40"]
    passed = max(1000.0 * e["passed_l"]["high"] for e in told["exposures"])
    assert known.candidate.figures.passed_ml == pytest.approx(passed, rel=1e-3)
    kept = {m.name: m.kept for m in known.candidate.margins}
    assert kept["water"] == (told["outcome"] == "holds")


def test_price_is_near_that_of_the_cost_command(found: dict[str, KnownPart], catalog: Path) -> None:
    words = ["cost", "--only", "K-40", "-c", str(catalog), "--jobs", "1", "--json"]
    told = answered(CliRunner().invoke(app, words).output)
    prices = {o["parts"]: o["price"] for o in told["parts"][0]["cost"]["orders"]}
    assert found["K-40"].candidate.figures.price == pytest.approx(prices[QUANTITY], rel=0.03)


def test_everything_is_told_that_a_part_lacks(found: dict[str, KnownPart]) -> None:
    # Not the first thing alone: the price comes after the temperature, water after both.
    assert {m.name for m in found["K-40"].carried.lacks} >= {"temperature", "price"}
    assert found["K-40"].candidate.reason == "temperature"
    for known in found.values():
        names = {m.name for m in known.candidate.margins}
        assert {"sight line", "temperature", "price", "water"} <= names
    differs = {part: {d.name for d in k.differs} for part, k in found.items()}
    assert differs["K-60P"] == {"material"}
    # Snap arms for 2 mm hold no wall of 1.5 mm; screws do.
    assert differs["K-40U"] == {"panel_thickness_mm", "print_orientation"}
    assert differs["K-50"] == differs["K-40"] == set()
    assert not found["K-60P"].does_it


def test_parts_that_do_it_come_first_by_price_and_others_by_what_they_lack(catalog: Path) -> None:
    less = COOL | {"cabinet": COOL["cabinet"] | {"heat_w": LESS_W}}
    found = known_in(
        catalog,
        opening={"at_most": "60x60"},
        water={"exposure": "dry"},
        order={"print_orientation": "face_down"},
        **less,
    )
    doing = [k for k in found.values() if k.does_it]
    others = [k for k in found.values() if not k.does_it]
    assert len(doing) > 1
    assert len(others) > 1
    assert list(found.values()) == [*doing, *others]
    prices = [k.candidate.figures.price for k in doing]
    assert prices == sorted(prices, key=float)
    assert [k.short for k in others] == sorted(k.short for k in others)
    assert all(k.short > 0.0 for k in others)
    for known in doing:
        assert passes_what_the_trade_asks(known)


def passes_what_the_trade_asks(known: KnownPart) -> bool:
    """Tell whether a part passes the flow by the trade's rule for enclosures at sea level.

    The rule (from memory): flow in m3/h is 3.1 times the heat in W over the rise in K. It follows
    from 3600 / (1.2 kg/m3 x 1005 J/(kg K)) = 2.99 at 20 degC, and thinner warm air.
    """
    needed_m3_h = 3.1 * LESS_W / (LIMIT_C - AMBIENT_C)
    enquiry = enquiry_of(requirement_of({"opening": {"size": known.row.size}, **COOL}))
    row = known.candidate.row
    question = enquiry.question(resolve(row, enquiry.attached(row)))
    assert question is not None
    cooling = predict(question).cooling
    assert cooling is not None
    return 3600.0 * cooling.flow_m3_s >= needed_m3_h


def test_a_cell_that_is_asked_for_is_compared_with_what_a_blank_one_means(catalog: Path) -> None:
    asked = {"size": "50x50", "families": "rectangular"}
    dry = {"exposure": "dry"}
    same = known_in(catalog, opening=asked, water=dry, cells={"wall_mm": 1.5})["K-50"]
    other = known_in(catalog, opening=asked, water=dry, cells={"wall_mm": 1.7})["K-50"]
    (differs,) = other.differs
    assert (differs.name, differs.asked) == ("wall_mm", "1.7")
    assert {d.name for d in same.differs} == ({"wall_mm"} if differs.has != "1.5" else set())


def test_the_fan_is_taken_that_suits_a_part_best(catalog: Path) -> None:
    def with_fans(*fans: str) -> KnownPart:
        return known_in(
            catalog,
            opening={"size": "40x40", "families": "rectangular"},
            cabinet={"heat_w": 45.0, "ambient_c": AMBIENT_C, "limit_c": LIMIT_C},
            air={"fan": list(fans)},
            water={"exposure": "dry"},
        )["K-40"]

    alone = {fan: with_fans(fan).short for fan in ("tank-hall-92", "pump-hall-120")}
    both = with_fans(*alone)
    assert len(set(alone.values())) == 2
    assert both.candidate.row.fan == min(alone, key=alone.__getitem__)
    assert both.short == min(alone.values())
