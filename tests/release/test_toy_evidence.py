"""A kind of evidence that is registered shows up everywhere, with nothing else changed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import jsonschema
import pytest

from tests.helpers.part21 import Exchange
from tests.helpers.rows import spec
from tests.release.toy import PAINT, Paint, PaintRecord
from vent_family.base.frozen import Frozen
from vent_family.catalog.reader import read_catalog
from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.kinds import KINDS
from vent_family.files.step.read import read_step
from vent_family.release.jobs import build_row, build_time, jobs_of
from vent_family.release.record import record_type
from vent_family.release.report import report_checks, report_text

CATALOG = (
    "part_number,family,size,status,slat_form,exposure\nT1,rectangular,30x30,released,folded,dry\n"
)


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build a catalogue of one part as the command does, with the toy registered meanwhile."""
    folder = tmp_path_factory.mktemp("toy")
    (folder / "catalog.csv").write_text(CATALOG)
    file = read_catalog(folder / "catalog.csv")
    out = folder / "exports"
    with KINDS.registered(PAINT):
        (job,) = jobs_of(file, file.rows, out, drafts=False, stamp=build_time())
        outcome = build_row(job)
        assert outcome.outcome == "written", outcome.message
        (out / "facts.json").write_text(json.dumps(outcome.facts), encoding="utf-8")
        schema = json.dumps(record_type().model_json_schema())
        (out / "schema.json").write_text(schema, encoding="utf-8")
    return out


def surface_mm2(published: Path) -> float:
    """Return the surface of the solid that stands in the STEP file, measured by the kernel."""
    (found,) = read_step(published / "T1" / "T1.step")
    return float(found.shape.Area())


def test_record_and_schema_hold_the_section(published: Path) -> None:
    data = json.loads((published / "T1" / "T1.json").read_text())
    area = surface_mm2(published)
    assert data["paint"]["surface_cm2"] == pytest.approx(area / 100.0, rel=1e-6)
    assert data["paint"]["coats"][1]["volume_cm3"] == pytest.approx(area * 0.04e-3, rel=1e-6)
    assert "paint: one tin" in [c["name"] for c in data["checks"]]
    schema = json.loads((published / "schema.json").read_text())
    jsonschema.validate(data, schema)
    surface = schema["$defs"]["PaintRecord"]["properties"]["surface_cm2"]
    assert (surface["unit"], surface["description"]) == ("cm2", "surface to paint")
    for wrong in ({}, data["paint"] | {"surface_cm2": "much"}, data["paint"] | {"other": 1}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(data | {"paint": wrong}, schema)


def test_step_carries_it_with_units(published: Path) -> None:
    (found,) = read_step(published / "T1" / "T1.step")
    area = surface_mm2(published)
    values = {a.name: (a.value, a.unit) for a in found.attributes}
    assert values["paint_surface_cm2"] == (pytest.approx(area / 100.0, rel=5e-4), "cm2")
    assert values["paint_coat_2_cm3"] == (pytest.approx(area * 0.04e-3, rel=5e-4), "cm3")
    assert values["paint_finish"] == ("matt", "")
    assert values["check: paint: one tin"] == ("pass", "")
    # A reader of the plain text that shares nothing with the package: square metres.
    stranger = Exchange.load(published / "T1" / "T1.step").products()["T1"]
    painted = stranger.attributes["paint_surface_cm2"]
    assert painted.si == pytest.approx(area * 1e-6, rel=5e-4)
    assert painted.dimension == {"m": 2}


def test_index_and_report_tell_it(published: Path) -> None:
    entry = json.loads((published / "facts.json").read_text())
    area = surface_mm2(published)
    assert entry["paint_surface_cm2"] == pytest.approx(area / 100.0, abs=0.051)
    text = (published / "T1" / "T1-print.md").read_text()
    assert f"- Paint {area / 100.0:.0f} cm2.\n" in text
    chapter = text.split("\n## Paint\n")[1]
    assert f"| surface to paint | {area / 100.0:.4g} | cm2 |" in chapter
    assert f"| 2 | {area * 0.04e-3:.3f} |" in chapter
    assert "| paint: one tin | pass | a litre will do |" in text


def test_pictures_are_written_shown_and_listed(published: Path) -> None:
    text = (published / "T1" / "T1-print.md").read_text()
    assert "![paint by coat](T1-paint.png)" in text
    listed = json.loads((published / "T1" / "T1.json").read_text())["files"]
    for name in ("T1-paint.png", "T1-paint.svg"):
        assert name in listed
        assert (published / "T1" / name).stat().st_size > 1000


def test_nothing_is_left_of_it_afterwards(published: Path) -> None:
    assert PAINT not in list(KINDS)
    assert "paint" not in record_type().model_fields
    assert "paint" not in [k.name for k in PartContext(spec()).kinds]


class Bare(Frozen):
    area: float


class Unitless(Frozen):
    area: Annotated[float | None, Fact("surface")]


class Nested(Frozen):
    parts: Annotated[list[Bare], Fact("parts")]


class Listed(Frozen):
    areas: Annotated[dict[str, tuple[float, ...]], Fact("surfaces")]


class Derived(Frozen):
    area: Annotated[float, Fact("surface", "mm2", attribute=Shown("a", of=lambda r: r.area))]


class Mistaken(Frozen):
    tilt_deg: Annotated[float, Fact("tilt", "mm")]


class Misstated(Frozen):
    tilt: Annotated[float, Fact("tilt", "deg", attribute="tilt_mm")]


class Converted(Frozen):
    time_s: Annotated[
        float, Fact("time", "s", attribute=Shown("time_h", "s", of=lambda r: r.time_s / 3600.0))
    ]


class Headed(Frozen):
    letter: Annotated[str, Fact("letter", attribute="revision")]


class Slats(Frozen):
    slat_count: Annotated[int, Fact("slats")]


class Volume(Frozen):
    volume: Annotated[float, Fact("volume", "mm3", attribute="volume_mm3")]


class Coat(Frozen):
    finish: Annotated[str, Fact("how it looks")]


def refused(record_type: type[Frozen], **other: str) -> str:
    """Return the sentence with which a kind of evidence with this record is refused."""
    members = {"record_type": record_type, **other}
    kind = type("Bad", (Paint,), members)()
    before = list(KINDS)
    with pytest.raises(ValueError, match="evidence") as error, KINDS.registered(kind):
        pass
    assert list(KINDS) == before
    return str(error.value)


def test_a_quantity_without_a_unit_is_refused_wherever_it_stands() -> None:
    assert "Bare.area is a quantity and states no unit" in refused(Bare)
    assert "Unitless.area is a quantity" in refused(Unitless)
    assert "Nested.parts.area is a quantity" in refused(Nested)
    assert "Listed.areas is a quantity" in refused(Listed)
    assert "Derived.area is stated as 'a' without a unit" in refused(Derived)


def test_a_unit_that_is_not_that_of_the_name_is_refused() -> None:
    assert "Mistaken.tilt_deg has the unit mm but a name in deg" in refused(Mistaken)
    assert "stated as 'tilt_mm', has the unit deg but a name in mm" in refused(Misstated)
    assert "stated as 'time_h', has the unit s but a name in h" in refused(Converted)


def test_a_name_that_the_record_states_itself_is_refused() -> None:
    kind = type("Bad", (Paint,), {"record_type": Headed})()
    with KINDS.registered(kind), pytest.raises(ValueError, match="paint states 'revision'"):
        record_type()


def test_names_that_are_taken_are_refused() -> None:
    assert "solid has the field 'slat_count' already" in refused(Slats, section="geometry")
    assert "the solid in a file states 'volume_mm3' already" in refused(Volume)
    assert "the name 'water' is taken" in refused(Coat, name="water")
    with KINDS.registered(PAINT):
        assert "the name 'paint' is taken" in refused(PaintRecord)


def test_a_report_on_one_section_tells_no_other() -> None:
    with KINDS.registered(PAINT):
        context = PartContext(spec("rectangular", size="30x30", slat_form="folded"))
        words = report_text(context, section="paint")
        assert [check.name for check in report_checks(context, "paint")] == ["paint: one tin"]
    assert "| paint: one tin | pass |" in words
    assert "print: " not in words
    assert "strength: " not in words
