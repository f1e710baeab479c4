"""A row written to the disk: whole or not at all, and not over what somebody else wrote."""

from __future__ import annotations

from pathlib import Path

import pytest

from vent_family.base import atomic
from vent_family.base.problems import InputError
from vent_family.catalog.append import Written
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import read_catalog
from vent_family.release import saved_row
from vent_family.release.saved_row import append_row, revise_row, state_of

OLD = (
    "# hall\r\npart_number;family;size;status;pitch_mm;fan;x_bin\r\n"
    "A;rectangular;80x60;draft;7,5;hall.csv;7\r\n# end"
)
NEW = CatalogRow(
    part_number="B", family="rectangular", size="60x60", status="draft", pitch_mm=8.25,
    fan="hall.csv",
)  # fmt: skip


@pytest.fixture
def place(tmp_path: Path) -> Path:
    fan = Path(saved_row.__file__).parents[1] / "fans" / "tank-hall-92.csv"
    (tmp_path / "hall.csv").write_bytes(fan.read_bytes())
    (tmp_path / "vents.csv").write_bytes(OLD.encode())
    return tmp_path / "vents.csv"


def names(place: Path) -> set[str]:
    return {entry.name for entry in place.parent.iterdir()}


def test_a_row_is_added_and_read_back(place: Path) -> None:
    written = append_row(place, NEW, state_of(place))
    assert place.read_bytes().decode() == OLD.replace(
        "# end", "B;rectangular;60x60;draft;8,25;hall.csv;\r\n# end"
    )
    file = read_catalog(place)
    assert (file.problems, [s.row_number for s in file.rows]) == ((), [3, 4])
    assert (file.rows[1].row, written.row, written.row_number) == (NEW, NEW, 4)
    assert names(place) == {"hall.csv", "vents.csv"}


def test_a_row_is_revised_and_ones_own_columns_stay(place: Path) -> None:
    row = NEW.model_copy(update={"part_number": "A", "fan": None})
    revise_row(place, row)
    assert place.read_bytes().decode() == OLD.replace("80x60", "60x60").replace(
        "7,5;hall.csv", "8,25;"
    )
    (source,) = read_catalog(place).rows
    assert (source.row, source.attached.own) == (row, (("x_bin", "7"),))
    with pytest.raises(InputError, match="no row has this part number"):
        revise_row(place, NEW)


def test_a_file_changed_since_the_search_began_is_left_alone(place: Path) -> None:
    began = state_of(place)
    place.write_bytes(OLD.replace("7,5", "7,75").encode())
    with pytest.raises(InputError, match="changed while the row was being found") as caught:
        append_row(place, NEW, began)
    assert caught.value.problems[0].code == "catalog.write.changed"
    assert place.read_bytes() == OLD.replace("7,5", "7,75").encode()
    assert append_row(place, NEW).row_number == 4


def test_a_file_changed_while_it_is_written_is_left_alone(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def appended(*given: object) -> Written:
        place.write_bytes(b"somebody else's")
        return Written(b"ours", 4, NEW)

    monkeypatch.setattr(saved_row, "appended", appended)
    with pytest.raises(InputError, match="changed while the row was being found"):
        append_row(place, NEW)
    assert place.read_bytes() == b"somebody else's"
    assert names(place) == {"hall.csv", "vents.csv"}


def test_when_the_disk_refuses_the_old_file_stays(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*given: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(atomic.os, "replace", refuse)
    with pytest.raises(OSError, match="No space left"):
        append_row(place, NEW)
    assert place.read_bytes() == OLD.encode()
    assert names(place) == {"hall.csv", "vents.csv"}


def test_a_link_goes_on_naming_the_file(place: Path) -> None:
    link = place.with_name("link.csv")
    link.symlink_to(place)
    append_row(link, NEW)
    assert link.is_symlink()
    assert b"B;rectangular" in place.read_bytes()


def test_workbooks_are_not_written_into(place: Path) -> None:
    book = place.with_suffix(".xlsx")
    book.write_bytes(b"PK")
    with pytest.raises(InputError, match="not written into workbooks") as caught:
        append_row(book, NEW)
    assert caught.value.problems[0].code == "sheet.file.append"
    assert book.read_bytes() == b"PK"
