from __future__ import annotations

from pathlib import Path

import pytest

from vent_family.catalog.reader import CatalogFile, read_catalog

COLUMNS = (
    "part_number",
    "family",
    "size",
    "status",
    "exposure",
    "face_velocity_m_s",
    "extra_depression_pa",
    "mounting_tilt_deg",
    "cabinet_surface_m2",
)


def read(folder: Path, cells: str) -> CatalogFile:
    path = folder / "catalog.csv"
    path.write_text(
        f"{','.join(COLUMNS)}\nHV-1,rectangular,60x60,draft,{cells}\n", encoding="utf-8"
    )
    return read_catalog(path)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("", None),
        ("rain", "rain"),
        ("Driving Rain", "driving_rain"),
        # Written in any order they are one content and one hash.
        ("jets / rain", "rain/jets"),
        ("hose-down+splashing", "splashing/hose_down"),
        ("dry", "dry"),
    ],
)
def test_exposures_are_read(tmp_path: Path, cell: str, value: str | None) -> None:
    file = read(tmp_path, f"{cell},,,,")
    assert file.problems == ()
    assert file.rows[0].row.exposure == value


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ("slpashing,,,,", "exposure", "unknown exposure 'slpashing'"),
        ("rain/rain,,,,", "exposure", "named twice"),
        ("dry/rain,,,,", "exposure", "no water at all"),
        ("IPX5,,,,", "exposure", "unknown exposure 'IPX5'"),
        ("rain,-1,,,", "face_velocity_m_s", "0 to 10 m/s"),
        ("rain,fast,,,", "face_velocity_m_s", "not a number"),
        ("rain,,900,,", "extra_depression_pa", "0 to 500 Pa"),
        ("rain,,,95,", "mounting_tilt_deg", "-90 to 90 deg"),
        ("rain,,,,0", "cabinet_surface_m2", "0.01 to 50 m2"),
    ],
)
def test_bad_exposure_cells_are_refused(
    tmp_path: Path, cells: str, column: str, words: str
) -> None:
    file = read(tmp_path, cells)
    assert file.rows == ()
    (problem,) = file.problems
    sentence = problem.sentence()
    assert problem.row == 2
    assert problem.column == column
    assert words in sentence
