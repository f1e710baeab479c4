"""Registries and vocabularies: what they refuse, and that nothing of a withdrawn name is left."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import pytest
from pydantic import ValidationError

from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import FAMILIES, SLAT_FORMS, CatalogRow, FamilyCells, column_families
from vent_family.catalog.reader import read_catalog
from vent_family.catalog.reference import column_reference
from vent_family.catalog.vocabulary import Vocabulary
from vent_family.spec.registry import Registry, members_of


class Tool(Protocol):
    @property
    def name(self) -> str: ...

    width_mm: float
    note: str | None

    @property
    def guard(self) -> str | None: ...

    def reach_mm(self, depth_mm: float) -> float: ...


@dataclass(frozen=True)
class Optionals:
    note: str | None = field(default=None, kw_only=True)
    guard: str | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class Whole(Optionals):
    name: str
    width_mm: float | None = 2.0

    def reach_mm(self, depth_mm: float) -> float:
        return (self.width_mm or 0.0) + depth_mm


@dataclass(frozen=True)
class NoWidth(Optionals):
    name: str

    def reach_mm(self, depth_mm: float) -> float:
        return depth_mm


@dataclass(frozen=True)
class NoFunction(Optionals):
    name: str
    width_mm: float | None = 2.0
    reach_mm: float | None = 1.0


@dataclass(frozen=True)
class OtherFunction(Optionals):
    name: str
    width_mm: float | None = 2.0

    def reach_mm(self) -> float:
        return 0.0


class EmptyBody(Tool):
    """Inherits the protocol's bodies, which do nothing."""

    name = "lazy"
    width_mm = 2.0
    note = guard = None


class Nameless(Optionals):
    width_mm = 2.0

    def reach_mm(self, depth_mm: float) -> float:
        return depth_mm


@pytest.fixture
def tools() -> Registry[Tool, None]:
    return Registry(Tool, Vocabulary("tool", {"saw": None}), lambda tool: None)


def test_the_protocol_is_read_whole() -> None:
    assert members_of(Tool) == ("name", "guard", "note", "reach_mm", "width_mm")


@pytest.mark.parametrize(
    ("tool", "message"),
    [
        (NoWidth("file"), "the tool file lacks the member width_mm"),
        (Whole("file", width_mm=None), "the tool file lacks the member width_mm"),
        (NoFunction("file", reach_mm=None), "the tool file lacks the member reach_mm"),
        (
            NoFunction("file"),
            "the tool file has a value where the member reach_mm must be a function",
        ),
        (
            OtherFunction("file"),
            "the tool file has a member reach_mm that takes () instead of (depth_mm)",
        ),
        (EmptyBody(), "the tool lazy lacks the member reach_mm"),
        (Nameless(), "the tool Nameless lacks the member name"),
    ],
)
def test_a_lacking_member_is_named_at_registration(
    tools: Registry[Tool, None], tool: Tool, message: str
) -> None:
    with pytest.raises(TypeError) as refused:
        tools.register(tool)
    assert str(refused.value) == message
    assert not list(tools)


def test_names_are_taken_once_and_given_back(tools: Registry[Tool, None]) -> None:
    with tools.registered(Whole("plane")):
        assert tools["plane"].reach_mm(1.0) == 3.0
        with pytest.raises(ValueError, match="there is a tool named plane already"):
            tools.register(Whole("plane"))
    with pytest.raises(LookupError, match="no tool named plane is registered"):
        tools["plane"]
    with pytest.raises(ValueError, match="'Big Saw' does not name a tool"):
        tools.register(Whole("Big Saw"))


def test_a_name_leaves_again_where_the_block_fails(tools: Registry[Tool, None]) -> None:
    with pytest.raises(ZeroDivisionError), tools.registered(Whole("plane")):
        raise ZeroDivisionError
    assert "plane" not in tools


def test_a_built_in_name_stays_with_the_catalogue() -> None:
    with pytest.raises(ValueError, match="flat is not a slat form that was admitted"):
        SLAT_FORMS.withdraw("flat")


ROWS = (
    "part_number,family,size,status,slat_form,flange_width_mm\n"
    "A,rectangular,80x60,draft,Wavy,\nB,barrel,M32x1.5,draft,,20\n"
)


def test_an_admitted_name_is_read_listed_and_forgotten(tmp_path: Path) -> None:
    path = tmp_path / "catalog.csv"
    path.write_text(ROWS, encoding="utf-8")
    before = column_reference()
    SLAT_FORMS.admit("wavy", None)
    FAMILIES.admit("barrel", FamilyCells("thread", frozenset({"flange_width_mm"})))
    try:
        found = read_catalog(path)
        assert not found.problems
        assert found.rows[0].row.slat_form == "wavy"
        assert (found.rows[1].row.family, found.rows[1].row.flange_width_mm) == ("barrel", 20.0)
        assert "flat, inclined, folded, channel, wavy" in column_reference()
        assert "M32x1.5 (round, barrel)" in column_reference()
        assert column_families("flange_width_mm") == ("flanged", "barrel")
        assert "barrel" in column_families("pitch_mm")
        assert "barrel" not in column_families("lip_width_mm")
        schema = CatalogRow.model_json_schema()["properties"]
        assert schema["family"]["enum"] == ["rectangular", "round", "flanged", "barrel"]
    finally:
        SLAT_FORMS.withdraw("wavy")
        FAMILIES.withdraw("barrel")
    assert column_reference() == before
    assert COLUMNS["slat_form"].choices == ("flat", "inclined", "folded", "channel")
    refused = read_catalog(path).problems
    assert {(p.row, p.column) for p in refused} == {(2, "slat_form"), (3, "family")}
    with pytest.raises(ValidationError, match="flat, inclined, folded, channel"):
        CatalogRow(
            part_number="A", family="rectangular", size="8x6", status="draft", slat_form="wavy"
        )
