"""A proposed row becomes a draft that the catalogue's own check accepts, under a free number."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from tests.release.releases import gone, release
from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import read_catalog
from vent_family.proposing.added import added, described, row_to_add
from vent_family.proposing.words import added_lines
from vent_family.release.register import Register, register_path
from vent_family.release.saved_row import state_of
from vent_family.spec.resolved import ResolvedRows

OLD = (
    "# hall\n"
    "part_number,family,size,status,x_bin,pitch_mm\n"
    "HV-R040,rectangular,40x40,released,7,7\n"
    "HV-R060,rectangular,60x60,draft,,\n"
    "# end\n"
)
ROW = CatalogRow(
    part_number="TRIAL", family="rectangular", size="40x40", status="draft", pitch_mm=7.0,
    overlap_mm=3.0, slat_thickness_mm=1.2, panel_thickness_mm=1.5, exposure="dry",
)  # fmt: skip


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "vents.csv").write_text(OLD, encoding="utf-8")
    return tmp_path / "vents.csv"


def numbered(place: Path, name: str = "Feed hall") -> CatalogRow:
    return row_to_add(ROW, read_catalog(place), place, name)


def test_the_row_is_a_draft_that_the_check_accepts(place: Path) -> None:
    row = numbered(place)
    found = added(place, row, state_of(place))
    lines = place.read_text(encoding="utf-8").splitlines()
    assert (found.part_number, found.row_number) == ("HV-R040A", 5)
    assert lines[4].startswith("HV-R040A,rectangular,40x40,draft,,7,")
    kept = [line.rstrip(",") for line in (*lines[2:4], lines[5])]
    assert kept == [line.rstrip(",") for line in OLD.splitlines()[2:]]
    file = read_catalog(place)
    assert file.problems == ()
    assert list(ResolvedRows(file).problems()) == []
    mine = file.rows[-1].row
    assert (mine.status, mine.revision, mine.description) == ("draft", "A", "from Feed hall")
    told = list(added_lines(found))
    assert told[-1] == "Added to vents.csv as HV-R040A, a draft, in row 5."
    assert all(column in told[0] for column in found.columns_added)


def test_a_number_that_was_ever_released_is_taken(place: Path) -> None:
    Register().appended(release("HV-R040A"), gone("HV-R040A")).write(register_path(place))
    assert numbered(place).part_number == "HV-R040B"


def test_a_file_that_was_changed_meanwhile_is_left_alone(place: Path) -> None:
    row, before = numbered(place), state_of(place)
    place.write_text(OLD + "# by hand\n", encoding="utf-8")
    with pytest.raises(InputError, match="was changed while"):
        added(place, row, before)
    assert place.read_text(encoding="utf-8") == OLD + "# by hand\n"


def test_for_a_workbook_the_row_is_told_to_paste(tmp_path: Path) -> None:
    book, place = openpyxl.Workbook(), tmp_path / "vents.xlsx"
    for line in OLD.splitlines()[1:4]:
        book.active.append(line.split(","))
    book.save(place)
    before = place.read_bytes()
    told = list(added_lines(added(place, numbered(place), state_of(place))))
    assert place.read_bytes() == before
    assert "so that its first cell is A4" in told[-3]
    names, cells = (line.split("\t") for line in told[-2:])
    pasted = dict(zip(names, cells, strict=True))
    # Typed into the sheet as told it is the row.
    sheet = openpyxl.load_workbook(place)
    for i, (name, cell) in enumerate(pasted.items(), start=1):
        sheet.active.cell(1, i).value = name
        sheet.active.cell(4, i).value = cell or None
    sheet.save(place)
    assert read_catalog(place).rows[-1].row == numbered(tmp_path / "vents.xlsx").model_copy(
        update={"part_number": "HV-R040A"}
    )


def test_descriptions_fit_their_cell() -> None:
    text = described("a\tvery  long\nname " * 20)
    assert text.startswith("from a very long name a")
    assert len(text) <= 120
    assert CatalogRow(**(ROW.model_dump() | {"description": text})).description == text
