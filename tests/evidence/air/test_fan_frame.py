"""The frame that a fan's file states against the one that a vent holds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.following import advised_cells
from tests.helpers.rows import row, spec
from vent_family.base.problems import InputError
from vent_family.catalog.attached import packaged_fans
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.drive import OtherAir, drive_of
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.fans import FanCurve, in_parallel, in_series
from vent_family.evidence.air.question import question_of
from vent_family.spec.resolve import resolve

CURVE = "flow_m3_h,pressure_pa\n0,50\n20,40\n40,20\n60,0\n"
FRAMES = {"pump-hall-120": 120.0, "tank-hall-92": 92.0, "ozone-room-blower": None}


def fan(lines: str = "") -> FanCurve:
    return parse_fan(lines + CURVE, "hall.csv")


def test_frames_of_the_packaged_fans() -> None:
    found = {
        name: parse_fan(text, f"{name}.csv").frame_mm for name, text in packaged_fans().items()
    }
    assert found == FRAMES


def test_frame_is_read_beside_the_density() -> None:
    read = fan("# a fan\n# density_kg_m3: 1.1\n# Frame_MM: 119.5\n")
    assert (read.frame_mm, read.density_kg_m3) == (119.5, 1.1)
    assert fan().frame_mm is None
    assert in_parallel(in_series(read, 2), 3).frame_mm == 119.5
    assert read.at_density(0.9).frame_mm == 119.5


@pytest.mark.parametrize("word", ["9", "501", "round", "-92"])
def test_frames_that_make_no_sense(word: str) -> None:
    with pytest.raises(InputError, match=r"hall\.csv, row 2: the frame of the fan makes no sense"):
        fan(f"# hall\n# frame_mm: {word}\n")


@pytest.mark.parametrize(
    ("held", "named", "advised"), [("92", "pump-hall-120", "120"), ("120", "tank-hall-92", "92")]
)
def test_contradiction_is_refused_with_advice_that_helps(
    held: str, named: str, advised: str
) -> None:
    tried = row("flanged", size="120x120", fan_mount=held, fan=named)
    with pytest.raises(InputError) as refused:
        drive_of(resolve(tried))
    (problem,) = refused.value.problems
    assert (problem.column, problem.value) == ("fan_mount", held)
    assert f"a fan of {held} mm" in problem.message
    assert advised_cells(problem.suggestion) == {"fan_mount": advised}
    drive = drive_of(resolve(tried.model_copy(update={"fan_mount": advised})))
    assert drive.fan is not None
    assert drive.frame is not None
    assert drive.frame.side_mm == drive.fan.frame_mm


def test_advice_keeps_to_what_fits() -> None:
    """A 120 mm fan named for a 92 x 92 vent has no place there: the cell is to be left blank."""
    tried = row("flanged", size="92x92", fan_mount="92", fan="pump-hall-120")
    with pytest.raises(InputError) as refused:
        drive_of(resolve(tried))
    (problem,) = refused.value.problems
    assert advised_cells(problem.suggestion) == {"fan_mount": ""}
    drive_of(resolve(tried.model_copy(update={"fan_mount": None})))


def test_a_fan_of_unknown_frame_may_go_anywhere() -> None:
    drive = drive_of(spec("flanged", fan_mount="92", fan="ozone-room-blower"))
    assert drive.fan is not None
    assert drive.fan.frame_mm is None


def test_fans_asked_for_in_place_of_the_rows() -> None:
    vent = spec("flanged", size="120x120", fan_mount="120")
    own, cabinet = drive_of(vent), Cabinet(50.0, 25.0, 45.0)
    wrong, right = fan("# frame_mm: 92\n"), fan("# frame_mm: 119\n")
    with pytest.raises(InputError, match="holds a fan of 120 mm"):
        OtherAir(fan=wrong).instead_of(own)
    with pytest.raises(InputError, match="holds a fan of 120 mm"):
        question_of(vent, cabinet, fan=wrong)
    assert OtherAir(fan=right).instead_of(own).fan == right
    assert question_of(vent, cabinet, fan=right).fan == right
    # Where the fan stands at the other side of the cabinet, this vent's frame says nothing.
    plain = replace(right, frame_mm=60.0)
    assert (
        question_of(vent, cabinet, outlet=spec("flanged"), fan=plain, place="outlet").fan == plain
    )
