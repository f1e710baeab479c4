"""Part numbers for new rows: free, sound, in the file's own way."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vent_family.catalog.model import CatalogRow
from vent_family.catalog.numbering import free_part_number, taken_numbers, wished_part_number
from vent_family.catalog.parse.table import read_table
from vent_family.catalog.reader import parse_catalog, read_catalog

ROOT = Path(__file__).parents[2]


def row(number: str, size: str = "80x60", family: str = "rectangular") -> CatalogRow:
    return CatalogRow(part_number=number, family=family, size=size, status="draft")


@pytest.mark.parametrize(
    ("family", "size", "wished", "free"),
    [
        ("rectangular", "160x120", "HV-R160", "HV-R160"),
        ("rectangular", "60x60", "HV-R060", "HV-R060A"),
        ("round", "M32x1.5", "HV-N32", "HV-N32A"),
        ("flanged", "80.5x92", "HV-F080", "HV-F080"),
    ],
)
def test_the_demo_catalogue_is_numbered_on_in_its_own_way(
    family: str, size: str, wished: str, free: str
) -> None:
    rows = [source.row for source in read_catalog(ROOT / "catalog.csv").rows]
    assert wished_part_number(rows, family, size) == wished
    assert free_part_number([r.part_number for r in rows], wished) == free


@pytest.mark.parametrize(
    ("numbers", "size", "wished"),
    [
        (["T-009", "T-012", "S-900"], "80x60", "T-013"),
        (["T1", "T2"], "80x60", "T3"),
        (["A9", "A10"], "80x60", "A11"),
        (["R80"], "200x60", "R200"),
        (["R80", "R80B"], "200x60", "R200"),
        (["inlet", "outlet"], "80x60", "VENT-80x60"),
        ([], "M20x1.5", "VENT-M20"),
    ],
)
def test_other_ways_of_numbering(numbers: list[str], size: str, wished: str) -> None:
    family = "round" if size.startswith("M") else "rectangular"
    assert wished_part_number([row(n) for n in numbers], family, size) == wished


def test_digits_are_filled_up_as_the_family_does() -> None:
    narrow = [row("R120", "120x60"), row("R160", "160x60")]
    assert wished_part_number(narrow, "rectangular", "80x60") == "R080"
    assert wished_part_number([*narrow, row("R90", "90x60")], "rectangular", "80x60") == "R80"
    other = [row("HV-R120", "120x60")]
    assert wished_part_number(other, "flanged", "150x60") == "HV-F150"


def test_numbers_of_bad_rows_and_of_vents_named_as_opposite_are_taken() -> None:
    text = (
        "part_number,family,size,status,opposite_vent\n"
        "A,rectangular,1x1,draft,B\nC,rectangular,80x60\nD,rectangular,80x60,draft,,,\n"
    )
    assert taken_numbers(read_table(text, "v.csv")) == {"A", "B", "C", "D"}


@pytest.mark.parametrize(
    ("taken", "like", "free"),
    [
        (["hv-r160"], "HV-R160", "HV-R160A"),  # one file on disks that take no notice of case
        (["HV-RI60"], "HV-R160", "HV-R160A"),  # I read as 1
        (["HV-R16O"], "HV-R160", "HV-R160A"),  # O read as 0
        (["HVR_160"], "HV-R160", "HV-R160A"),
        (["HV-R160", "HV-R160A", "HV-R160B"], "HV-R160", "HV-R160C"),
        (["V-gasket"], "V", "V-2"),  # the gasket of V would overwrite the part V-gasket
        (["V"], "V-gasket", "V-gasket-2"),
        ([], "COM1", "COM1A"),  # Microsoft, "Naming Files, Paths, and Namespaces"
        ([], "Mar-12", "Mar-12A"),  # a spreadsheet makes a date of it; from memory
        ([], "1.2E+05", "1.2E-05A"),
        ([], "x" * 60, "x" * 40),
        (["x" * 40], "x" * 60, "x" * 38 + "-2"),
    ],
)
def test_a_free_number_meets_no_other(taken: list[str], like: str, free: str) -> None:
    assert free_part_number(taken, like) == free


def test_when_all_letters_are_taken_a_number_follows() -> None:
    taken = ["R1", *(f"R1{letter}" for letter in "ABCDEFGHJKLMNPQRSTUVWXYZ")]
    assert free_part_number(taken, "R1") == "R1-2"
    with pytest.raises(ValueError, match="no part number"):
        free_part_number(taken, "--")


NAMES = st.from_regex(r"[abOo01Il][-._]?[ab1lO](?:-gasket|-LOCKNUT|\.step)?", fullmatch=True)


@settings(max_examples=80, deadline=None)
@given(st.lists(NAMES, max_size=6, unique_by=str.casefold), NAMES)
def test_a_free_number_leaves_all_rows_good(taken: list[str], like: str) -> None:
    """The reader itself is asked: the new row is good, and so are those that were before."""
    number = free_part_number(taken, like)
    head = "part_number,family,size,status\n"
    lines = [f"{n},round,M20x1.5,draft\n" for n in taken]
    before = parse_catalog(head + "".join(lines))
    after = parse_catalog(head + "".join([*lines, f"{number},round,M25x1.5,draft\n"]))
    assert [s.row for s in after.rows[:-1]] == [s.row for s in before.rows]
    assert after.rows[-1].row.part_number == number
    assert re.sub("[-._]", "", number.casefold()) not in {
        re.sub("[-._]", "", n.casefold()) for n in taken
    }
