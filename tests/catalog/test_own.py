"""Columns of one's own are carried along as text and decide nothing."""

from __future__ import annotations

import hashlib
import json

import pytest

from tests.helpers.rows import row, spec
from vent_family.base.rates import rates_of
from vent_family.catalog.attached import Attached
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.hashing import row_hash
from vent_family.catalog.own import is_own, name_refusal, own_name
from vent_family.catalog.reader import parse_catalog
from vent_family.evidence.context import PartContext
from vent_family.release.record import index_facts, make_record
from vent_family.spec.resolve import resolve

HEAD = "part_number,family,size,status"
ROW = "V-1,rectangular,60x60,draft"


def carried(head: str, cells: str) -> tuple[tuple[str, str], ...]:
    file = parse_catalog(f"{HEAD},{head}\n{ROW},{cells}\n")
    assert file.problems == ()
    return file.rows[0].attached.own


def test_cells_are_carried_as_they_are_by_a_uniform_name_in_one_order() -> None:
    texts = {"x_zone": "-4 °C", "x_bin": "@store +49 12", "x_day": "4-Feb"}
    expected = tuple(sorted(texts.items()))
    assert carried("X Zone, x-bin,x_day", ",".join(texts.values())) == expected
    assert carried("x_day,x_bin,x_zone", "4-Feb,@store +49 12,-4 °C") == expected
    assert carried("x_bin,x_zone", ",wet") == (("x_zone", "wet"),)


def test_they_are_part_of_the_hash_and_rows_without_any_keep_theirs() -> None:
    plain = parse_catalog(f"{HEAD}\n{ROW}\n").rows[0]
    blank = parse_catalog(f"{HEAD},x_bin\n{ROW},\n").rows[0]
    one, other = (parse_catalog(f"{HEAD},x_bin\n{ROW},{text}\n").rows[0] for text in "ab")
    # As it was before there were columns of one's own.
    content = '{"family":"rectangular","part_number":"V-1","size":"60x60","status":"draft"}'
    assert plain.row_hash == hashlib.sha256(content.encode()).hexdigest()[:16]
    assert blank.row_hash == plain.row_hash == row_hash(plain.row)
    assert len({plain.row_hash, one.row_hash, other.row_hash}) == 3


def test_they_decide_nothing() -> None:
    own = Attached(own=(("x_bin", "4"), ("x_note", "none")))
    plain, carrying = spec("rectangular"), resolve(row("rectangular"), own)
    assert carrying.attached.own == own.own
    assert repr(carrying).replace(repr(own), repr(Attached())) == repr(plain)


def test_record_and_index_carry_them_as_text() -> None:
    text = '<script>alert(1)</script> | =1+1 "quoted"'
    own = Attached(own=(("x_bin", "007"), ("x_note", text)))
    context = PartContext(resolve(row("rectangular", size="40x40"), own), rates_of(None))
    record = make_record(context, row_hash="0" * 16, time_stamp="", triangles=1, files=[])
    written = json.loads(record.model_dump_json())
    assert written["own"] == {"x_bin": "007", "x_note": text}
    facts = index_facts(record)
    assert (facts["x_bin"], facts["x_note"]) == ("007", text)
    assert not any(name.startswith("x_") for name in written["catalogue"])


@pytest.mark.parametrize("column", [*COLUMNS, "fan_depression_pa", "bank_shift"])
def test_no_column_that_decides_or_once_did_is_one_of_ones_own(column: str) -> None:
    refusal = name_refusal(f"x_{column}")
    assert refusal is not None
    assert refusal.code == "catalog.column.near"
    assert not is_own(column)


@pytest.mark.parametrize("name", ["x_bin", "x_2", "x_shelf_4b", "x_customer", "x_" + "a" * 38])
def test_names_of_ones_own(name: str) -> None:
    assert name_refusal(name) is None


@pytest.mark.parametrize("name", ["x_", "x_bin_", "x_bin/4", "x_" + "a" * 39, "x_Ü"])
def test_other_names_are_refused_and_what_is_offered_is_accepted(name: str) -> None:
    refusal = name_refusal(name)
    assert refusal is not None
    offered = own_name(name.removeprefix("x_"))
    if offered:
        assert name_refusal(offered) is None
        assert offered in refusal.suggestion
