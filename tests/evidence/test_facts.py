"""What a record states: names, order, units and what is left out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown, Stated, TableColumn, facts_table, stated, table


@dataclass(frozen=True, slots=True)
class Place:
    """A plain dataclass inside a record."""

    name: Annotated[str, Fact("where")]
    depth_mm: Annotated[float | None, Fact("how deep", "mm", attribute="depth_{name:_}_mm")]


class Sample(Frozen):
    """A record with everything a record can have."""

    late: Annotated[str, Fact("late", attribute=Shown("late", rank=2))]
    places: Annotated[tuple[Place, ...], Fact("places", rank=1)]
    width_mm: Annotated[
        float,
        Fact(
            "width",
            "mm",
            attribute=(Shown("width_mm"), Shown("width_cm2", "cm2", of=lambda r: r.width_mm**2)),
            index=Shown("width_mm", digits=1),
            column=TableColumn("wide", ".2f", rank=1),
        ),
    ]
    stress: Annotated[
        float, Fact("stress", "{unit}", attribute="stress", column=TableColumn("stress"))
    ]
    unit: Annotated[str, Fact("unit of the stress")]
    count: Annotated[int, Fact("how many", attribute=Shown("count", rank=-1), index="count")]
    word: Annotated[str, Fact("a word", attribute="late")]


SAMPLE = Sample(
    late="first",
    places=(Place("top edge", 1.5), Place("low", None)),
    width_mm=12.345,
    stress=7.0,
    unit="MPa",
    count=3,
    word="second",
)


def test_names_values_units_and_order() -> None:
    assert stated(SAMPLE, "attribute") == [
        Stated("count", 3, ""),
        Stated("width_mm", 12.345, "mm"),
        Stated("width_cm2", 12.345**2, "cm2"),
        Stated("stress", 7.0, "MPa"),
        # Stated twice: the place of the one before, the value of the one after.
        Stated("late", "first", ""),
        Stated("depth_top_edge_mm", 1.5, "mm"),
    ]


def test_the_index_rounds_and_holds_only_what_it_names() -> None:
    assert stated(SAMPLE, "index") == [Stated("width_mm", 12.3, "mm"), Stated("count", 3, "")]


def test_empty_text_states_nothing() -> None:
    empty = SAMPLE.model_copy(update={"word": "", "late": ""})
    assert "late" not in [one.name for one in stated(empty, "attribute")]


def test_tables_follow_the_columns() -> None:
    assert table([SAMPLE], Sample) == [
        "| stress | wide |",
        "| --- | --- |",
        "| 7.0 | 12.35 |",
    ]
    assert "| width | 12.35 | mm |" in facts_table(SAMPLE)
    assert "| stress | 7 | MPa |" in facts_table(SAMPLE)
    assert "| how many | 3 |  |" in facts_table(SAMPLE)
