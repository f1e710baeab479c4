"""What rows name outside themselves, and a column that is read no longer."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.workbooks import write_xlsx
from vent_family.catalog.reader import CatalogFile, parse_catalog, read_catalog
from vent_family.catalog.update import updated
from vent_family.evidence.air.drive import drive_problems
from vent_family.evidence.air.withdrawn import with_computed
from vent_family.evidence.water.conditions import conditions_of
from vent_family.spec.resolved import ResolvedRows

HEAD = "part_number,family,size,status,fan,fan_position,opposite_vent,face_velocity_m_s\n"
CURVE = "flow_m3_h,pressure_pa\n0,50\n12,42\n25,30\n38,15\n50,0\n"


def read(folder: Path, *rows: str, head: str = HEAD) -> CatalogFile:
    path = folder / "vents.csv"
    path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    return read_catalog(path)


def test_a_fan_lies_beside_the_catalogue(tmp_path: Path) -> None:
    (tmp_path / "fans").mkdir()
    (tmp_path / "fans" / "hall.csv").write_text(CURVE, encoding="utf-8")
    file = read(tmp_path, "A,rectangular,80x60,draft,fans/hall.csv,outlet,,")
    assert file.problems == ()
    assert file.rows[0].attached.fan_text == CURVE
    assert drive_problems(ResolvedRows(file)) == []


def test_another_fan_or_another_vent_opposite_is_another_part_record(tmp_path: Path) -> None:
    def hashes(curve: bytes, opposite: str) -> list[str]:
        (tmp_path / "hall.csv").write_bytes(curve)
        rows = ("A,rectangular,80x60,draft,hall.csv,,B,", f"B,rectangular,{opposite},draft,,,,")
        return [row.row_hash for row in read(tmp_path, *rows).rows]

    first, other = hashes(CURVE.encode(), "60x60")
    assert hashes(CURVE.replace("\n", "\r\n").encode(), "60x60") == [first, other]
    stronger = hashes(CURVE.replace("50\n", "60\n", 1).encode(), "60x60")
    assert stronger[0] != first
    assert stronger[1] == other
    assert hashes(CURVE.encode(), "60x70")[0] != first


@pytest.mark.parametrize(
    ("cells", "column", "said"),
    [
        ("none.csv,,,", "fan", "the file does not exist"),
        ("pump-hall,,,", "fan", "Use ozone-room-blower, pump-hall-120, tank-hall-92, or"),
        ("/tmp/hall.csv,,,", "fan", "does not start at the catalogue"),
        ("C:/fans/hall.csv,,,", "fan", "does not start at the catalogue"),
        ("tank-hall-92,,Z-9,", "opposite_vent", "no good row of the catalogue"),
        ("tank-hall-92,roof,,", "fan_position", "intake, outlet"),
    ],
)
def test_what_cannot_be_had_is_the_rows_one_error(
    tmp_path: Path, cells: str, column: str, said: str
) -> None:
    file = read(tmp_path, f"A,rectangular,80x60,draft,{cells}", "B,round,M20x1.5,draft,,,,")
    (problem,) = file.problems
    assert (problem.row, problem.part_number, problem.column) == (2, "A", column)
    assert said in problem.sentence()
    assert [row.row.part_number for row in file.rows] == ["B"]


def test_text_has_no_folder_and_knows_the_packaged_fans_only() -> None:
    rows = "A,round,M20x1.5,draft,tank-hall-92,,,\nB,round,M20x1.5,draft,hall.csv,,,\n"
    file = parse_catalog(HEAD + rows)
    assert [row.row.part_number for row in file.rows] == ["A"]
    assert [p.part_number for p in file.problems] == ["B"]


def test_fan_and_face_velocity_at_once_name_both(tmp_path: Path) -> None:
    rows = ResolvedRows(read(tmp_path, "A,rectangular,80x60,draft,tank-hall-92,,,1.5"))
    (problem,) = rows.problems()
    assert problem.column == "face_velocity_m_s"
    assert "fan and face_velocity_m_s" in problem.message


def test_a_position_without_a_fan_says_nothing(tmp_path: Path) -> None:
    (problem,) = ResolvedRows(read(tmp_path, "A,rectangular,80x60,draft,,intake,,")).problems()
    assert problem.column == "fan_position"


def test_a_file_that_makes_no_curve_is_one_problem(tmp_path: Path) -> None:
    (tmp_path / "hall.csv").write_text("flow_m3_h,pressure_pa\n5,50\n10,60\n9,70\n")
    rows = ResolvedRows(read(tmp_path, "A,rectangular,80x60,draft,hall.csv,,,"))
    assert rows.problems() == []
    (problem,) = drive_problems(rows)
    assert (problem.file, problem.row, problem.column) == ("vents.csv", 2, "fan")
    assert "makes no curve: hall.csv, row 4" in problem.message


def test_a_workbook_names_the_cell_of_a_fan_without_a_curve(tmp_path: Path) -> None:
    (tmp_path / "hall.csv").write_text("flow_m3_h,pressure_pa\n5,50\n10,60\n9,70\n")
    head, row = (
        HEAD.strip().split(","),
        ["A", "rectangular", "80x60", "draft", "hall.csv", "", "", ""],
    )
    path = write_xlsx(tmp_path / "vents.xlsx", [head, row])
    (problem,) = drive_problems(ResolvedRows(read_catalog(path)))
    assert problem.cell == "E2"
    assert "cell E2" in problem.sentence()


def test_a_vent_opposite_that_breaks_a_rule_is_named(tmp_path: Path) -> None:
    head = HEAD.replace("\n", ",rib_count\n")
    rows = ("A,rectangular,80x60,draft,tank-hall-92,,B,,", "B,rectangular,80x60,draft,,,,,40")
    (problem,) = drive_problems(ResolvedRows(read(tmp_path, *rows, head=head)))
    assert (problem.row, problem.column, problem.value) == (2, "opposite_vent", "B")


# ----------------------------------------------------------------------------------------------
# The fan's depression of old

OLD = "part_number,family,size,status,face_velocity_m_s,fan_depression_pa\n"


def test_an_old_depression_is_refused_with_the_computed_one(tmp_path: Path) -> None:
    """Stated by hand the value is neither kept nor turned into anything."""
    rows = ("A,rectangular,120x120,draft,2.5,40", "B,rectangular,120x120,draft,2.5,")
    file = with_computed(read(tmp_path, *rows, head=OLD))
    (problem,) = file.problems
    assert (problem.row, problem.part_number, problem.value) == (2, "A", "40")
    assert "extra_depression_pa" in problem.suggestion
    # What verdict and records say of the row once the cell is cleared.
    computed = problem.suggestion.split("computes ")[1].split(" Pa")[0]
    cleared = read(tmp_path, rows[0].removesuffix("40"), head=OLD)
    (vent,) = ResolvedRows(cleared).specs()
    assert computed == f"{conditions_of(vent).calm.depression_pa:.0f}" != "40"
    assert [source.row.part_number for source in file.rows] == ["B"]


def test_a_row_with_more_faults_gets_the_plain_sentence(tmp_path: Path) -> None:
    rows = ("A,rectangular,120x120,draft,99,40", "B,rectangular,10000x120,draft,1,40")
    problems = with_computed(read(tmp_path, *rows, head=OLD)).problems
    plain = [p for p in problems if p.column == "fan_depression_pa"]
    assert [p.row for p in plain] == [2, 3]
    assert not any("computes" in p.suggestion for p in plain)


def test_an_empty_old_column_is_told_once(tmp_path: Path) -> None:
    file = read(tmp_path, "A,rectangular,120x120,draft,2.5,", head=OLD)
    (problem,) = file.problems
    assert (problem.row, problem.column) == (1, "fan_depression_pa")
    assert problem.suggestion == "remove the column"
    assert len(file.rows) == 1


def test_update_leaves_the_old_depression_alone() -> None:
    data = (OLD + "A,rectangular,120x120,draft,2.5,40\n").encode()
    assert updated(data, "vents.csv") == (data, ())
