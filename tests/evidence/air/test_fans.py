"""Fan curves: read or refused, interpolated without overshoot, joined."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from vent_family.base.constants import CFM_M3_S
from vent_family.base.problems import InputError
from vent_family.evidence.air.fan_files import parse_fan, read_fan, read_fans
from vent_family.evidence.air.fans import FanCurve, in_parallel, in_series

GOOD = "flow_m3_h,pressure_pa\n0,50\n20,40\n40,28\n60,12\n70,0\n"
DEMO = sorted((Path(__file__).parents[3] / "vent_family" / "fans").glob("*.csv"))


def test_demo_fans_read() -> None:
    assert len(DEMO) >= 3
    fans = [read_fan(path) for path in DEMO]
    assert any(fan.stall_m3_s for fan in fans)
    assert any(fan.stall_m3_s is None for fan in fans)


def test_units_in_the_column_names() -> None:
    """0.3048 m feet, 9.80665 Pa per mm and 249.089 Pa per inch of water (conventional)."""
    text = "pressure_inH2O, flow_cfm\n0.2,0\n0.15,10\n0.1,20\n0,30\n"
    fan = parse_fan(text, "f.csv")
    assert fan.free_flow_m3_s == pytest.approx(30 * CFM_M3_S)
    assert fan.free_flow_m3_s * 3600 == pytest.approx(50.97, abs=0.01)
    assert fan.shut_off_pa == pytest.approx(49.82, abs=0.01)
    fan = parse_fan("flow_l_min,pressure_mmH2O\n0,5\n300,4\n600,2\n900,0\n", "f.csv")
    assert fan.free_flow_m3_s == pytest.approx(0.015)
    assert fan.shut_off_pa == pytest.approx(49.03, abs=0.01)


def test_byte_order_mark_comments_and_density(tmp_path: Path) -> None:
    path = tmp_path / "hall.csv"
    path.write_bytes(b"\xef\xbb\xbf# density_kg_m3: 1.1\r\n" + GOOD.replace("\n", "\r\n").encode())
    fan = read_fan(path)
    assert fan.density_kg_m3 == 1.1
    assert fan.name == "hall"
    assert fan.at_density(0.55).shut_off_pa == pytest.approx(25.0)


def test_interpolation_is_monotone_and_meets_its_points() -> None:
    """PCHIP (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238) does not overshoot."""
    fan = parse_fan("flow_m3_h,pressure_pa\n0,50\n30,49\n40,48\n55,10\n70,0\n", "f.csv")
    q = np.linspace(0, fan.free_flow_m3_s, 1000)
    p = fan.pressure(q)
    assert (np.diff(p) <= 1e-12).all()
    np.testing.assert_allclose(fan.pressure(np.array(fan.flow_m3_s)), fan.pressure_pa, atol=1e-12)
    assert fan.pressure(1.1 * fan.free_flow_m3_s) < 0


def test_parallel_adds_flow_series_adds_pressure() -> None:
    fan = parse_fan(GOOD, "f.csv")
    q = 0.5 * fan.free_flow_m3_s
    assert in_parallel(fan, 3).pressure(3 * q) == pytest.approx(float(fan.pressure(q)))
    assert in_series(fan, 2).pressure(q) == pytest.approx(2 * float(fan.pressure(q)))
    with pytest.raises(InputError, match="at least one fan"):
        in_parallel(fan, 0)


def test_stall_region_ends_at_the_top_of_the_hump() -> None:
    fan = parse_fan("flow_m3_h,pressure_pa\n0,60\n20,45\n40,52\n50,52.3\n70,30\n90,0\n", "f.csv")
    assert fan.stall_m3_s == pytest.approx(50 / 3600)
    assert parse_fan(GOOD, "f.csv").stall_m3_s is None


BAD = {
    "empty": ("", "holds no fan curve"),
    "comments only": ("# nothing\n", "holds no fan curve"),
    "no flow column": ("litres,pressure_pa\n0,5\n", "no flow column with a known unit"),
    "no unit": ("flow,pressure\n0,50\n40,0\n", "put the unit in the column name"),
    "unknown unit": ("flow_m3_h,pressure_psi\n0,50\n40,0\n", "no pressure column"),
    "two flows": ("flow_m3_h,flow_cfm,pressure_pa\n0,0,5\n", "two flow columns"),
    "mixed": (
        "flow_m3_h;pressure_pa\n0;50\n20,40\n40;0\n",
        "row 3: the row is separated by commas",
    ),
    "words": ("flow_m3_h,pressure_pa\n0,50\n20,high\n40,0\n", "row 3, column pressure_pa"),
    "decimal comma": (
        'flow_m3_h,pressure_pa\n0,50\n20,"41,5"\n40,0\n',
        "row 3, column pressure_pa: the number has a decimal comma, but commas separate the cells",
    ),
    "split decimal": (
        "flow_m3_h,pressure_pa\n0,50\n20,41,5\n40,0\n",
        "row 3: the row has 3 cells but there are 2 column names: a decimal comma",
    ),
    "both marks": (
        "flow_m3_h;pressure_pa\n0;50,5\n20;40,5\n30;20.5\n40;0\n",
        "row 4, column pressure_pa: the number has a decimal point",
    ),
    "thousands": (
        "flow_l_min;pressure_pa\n0;50\n500;40\n1.000;20\n1.300;0\n",
        "row 4, column flow_l_min: the number can be read as 1",
    ),
    "a date": (
        "flow_m3_h;pressure_pa\n0;50\n20;12. Mai\n40;0\n",
        "row 3, column pressure_pa: the cell reads as a date",
    ),
    "open quotes": (
        'flow_m3_h,pressure_pa\n0,50\n20,"41\n40,0\n',
        "row 3: a quotation mark opens a cell and never closes",
    ),
    "cut off": (
        "flow_m3_h,pressure_pa\n0,50\n20,40\n4",
        "row 4: the file ends inside this row",
    ),
    "separator": ("sep=|\nflow_m3_h|pressure_pa\n0|50\n", "names a separator that is not read"),
    "blank cell": ("flow_m3_h,pressure_pa\n0,50\n20,\n40,0\n", "missing its value"),
    "infinite": ("flow_m3_h,pressure_pa\n0,inf\n20,30\n40,0\n", "not a number"),
    "two points": ("flow_m3_h,pressure_pa\n0,50\n40,0\n", "do not make a curve"),
    "negative": ("flow_m3_h,pressure_pa\n0,50\n20,-4\n40,0\n", "not negative"),
    "duplicate": ("flow_m3_h,pressure_pa\n0,50\n20,40\n20,41\n40,0\n", "two points have the same"),
    "unsorted": ("flow_m3_h,pressure_pa\n0,50\n30,20\n20,40\n40,0\n", "sort the points"),
    "no shut-off": ("flow_m3_h,pressure_pa\n10,50\n25,40\n40,0\n", "begin at zero flow"),
    "no free flow": ("flow_m3_h,pressure_pa\n0,50\n20,40\n40,12\n", "end at zero pressure"),
    "just a gap": ("flow_m3_h,pressure_pa\n0,50\n40,45\n86,10\n100,0\n", "gap of 46 %"),
    "gap": ("flow_m3_h,pressure_pa\n0,50\n10,45\n90,10\n100,0\n", "gap of 80 %"),
    "rising end": (
        "flow_m3_h,pressure_pa\n0,50\n20,40\n40,30\n60,10\n70,25\n80,0\n",
        "rises again towards the free flow",
    ),
    "wrong unit": ("flow_m3_s,pressure_pa\n0,50\n20,40\n40,20\n60,0\n", "check the units"),
    "tiny": ("flow_m3_h,pressure_pa\n0,.05\n20,.04\n40,.02\n60,0\n", "check the units"),
    "flat zero": ("flow_m3_h,pressure_pa\n0,0\n20,0\n40,0\n", "no pressure or no flow"),
    "bad density": ("# density_kg_m3: heavy\n" + GOOD, "density of the fan curve"),
}


@pytest.mark.parametrize(("text", "message"), BAD.values(), ids=BAD.keys())
def test_bad_curves_are_refused_with_a_reason(text: str, message: str) -> None:
    with pytest.raises(InputError) as error:
        parse_fan(text, "fan.csv")
    told = str(error.value)
    assert message.lower() in told.lower()
    assert told.startswith("fan.csv")


def test_every_fault_is_listed_with_its_row() -> None:
    text = "# a comment\n\nflow_m3_h,pressure_pa\n0,50\n20,x\n,30\n40,0\n"
    with pytest.raises(InputError) as error:
        parse_fan(text, "fan.csv")
    assert [p.row for p in error.value.problems] == [6, 5] or [
        p.row for p in error.value.problems
    ] == [5, 6]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none.csv: the fan curve cannot be read"):
        read_fan(tmp_path / "none.csv")
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")
    with pytest.raises(InputError, match=r"picture.csv: the fan curve cannot be read: .*binary"):
        read_fan(path)
    path.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(InputError, match="no flow column"):
        read_fan(path)


EXPECTED = FanCurve("hall", (0.0, 0.005, 0.01, 0.015), (52.5, 37.5, 26.0, 0.0), 1.1)
COMMAS = "# density_kg_m3: 1.1\nflow_m3_h,pressure_pa\n0,52.5\n18,37.5\n36,26\n54,0\n"
SEMICOLONS = COMMAS.replace(",", ";").replace(".", ",")
READ = {
    "commas": COMMAS.encode(),
    "byte order mark": b"\xef\xbb\xbf" + COMMAS.encode(),
    "UTF-16, little end first": COMMAS.encode("utf-16"),
    "UTF-16, big end first": b"\xfe\xff" + SEMICOLONS.encode("utf-16-be"),
    "Windows-1252": b"# L\xfcfter\n" + COMMAS.encode(),
    "semicolons and points": COMMAS.replace(",", ";").encode(),
    "semicolons and decimal commas": SEMICOLONS.encode(),
    "tabs": COMMAS.replace(",", "\t").encode(),
    "carriage returns": COMMAS.replace("\n", "\r").encode(),
    "named separator": ("sep=;\n" + SEMICOLONS).encode(),
    "padded comment": SEMICOLONS.replace(": 1,1", ": 1,1;").encode(),
    "quoted": b'"# density_kg_m3: 1.1",\n"flow_m3_h","pressure_pa"\n0,"52.5"\n18,37.5\n36,26\n54,0',
    "further columns": b"# density_kg_m3: 1.1\nrpm,flow_m3_h,pressure_pa\n"
    b"2900,0,52.5\n2880,18,37.5\n,36,26\n2850,54,0\n",
    "spaces and capitals": COMMAS.replace(
        "flow_m3_h,pressure_pa", " Flow m3 h , Pressure_Pa"
    ).encode(),
    "powers of ten": COMMAS.replace("\n18,", "\n1.8E+01,").encode(),
}


@pytest.mark.parametrize("data", READ.values(), ids=READ.keys())
def test_what_a_spreadsheet_saves_is_read(tmp_path: Path, data: bytes) -> None:
    """Encodings, separators and decimal marks are those the catalogue accepts."""
    path = tmp_path / "hall.csv"
    path.write_bytes(data)
    found = read_fan(path)
    assert found.name == EXPECTED.name
    assert found.flow_m3_s == pytest.approx(EXPECTED.flow_m3_s, abs=1e-15)
    assert found.pressure_pa == EXPECTED.pressure_pa
    assert found.density_kg_m3 == EXPECTED.density_kg_m3


def test_rows_are_the_spreadsheets_and_values_as_written() -> None:
    text = "sep=;\n# hall\n\nflow_m3_h;pressure_pa\n0;50,5\n20;-4,5\n30;30\n40;0\n"
    with pytest.raises(InputError) as error:
        parse_fan(text, "fan.csv")
    (problem,) = error.value.problems
    assert (problem.row, problem.column, problem.value) == (5, "pressure_pa", "-4,5")


def test_groups_of_fans(tmp_path: Path) -> None:
    path = tmp_path / "hall.csv"
    path.write_text(COMMAS)
    group = read_fans(path, parallel=2, series=3)
    assert group.free_flow_m3_s == pytest.approx(2 * 0.015)
    assert group.shut_off_pa == pytest.approx(3 * 52.5)
    with pytest.raises(InputError, match="at least one fan"):
        read_fans(path, series=0)


def test_a_curve_rebuilt_from_its_own_points_is_the_same() -> None:
    fan = parse_fan(GOOD, "f.csv")
    again = FanCurve(fan.name, fan.flow_m3_s, fan.pressure_pa)
    assert again == fan
