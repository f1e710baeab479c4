"""A row with a fan behind it, as a catalogue would hold it: one solid that prints, and its air."""

from __future__ import annotations

import pytest

from tests.helpers.following import problems_of, read_row
from vent_family.evidence.air.drive import drive_of
from vent_family.evidence.air.point import operating_points
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.context import PartContext
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.result import passed
from vent_family.evidence.solid.kind import SOLID
from vent_family.spec.resolve import resolve

CELLS = {
    "part_number": "HV-F121",
    "family": "flanged",
    "size": "120x120",
    "status": "released",
    "description": "Recirculation pump cabinet with its 120 mm fan behind the vent",
    "material": "ASA",
    "colour": "light_grey",
    "exposure": "rain",
    "fan": "pump-hall-120",
    "fan_mount": "120",
}


def test_row_with_a_fan_is_built_and_prints() -> None:
    row = read_row(CELLS)
    assert not problems_of(row)
    vent = resolve(row)
    context = PartContext(vent)
    for kind in (SOLID, PRINTING):
        checks = kind.checks(context)
        assert passed(checks), [c.message for c in checks if not passed((c,))]
    duct = vent.fan_duct
    assert duct is not None
    # The fan that the row names is of the frame it holds, and moves the air.
    drive = drive_of(vent)
    assert drive.fan is not None
    assert drive.fan.frame_mm == duct.frame.side_mm == 120.0
    (point,) = operating_points(vent_air(vent), drive)
    assert (point.source, point.direction) == ("fan", "in")
    assert point.flow_m3_h == pytest.approx(58.0, abs=6.0)
