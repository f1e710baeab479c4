"""The cost of a whole part, by hand, from bodies whose size, layers and mass are plain."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from tests.helpers.meshes import section_at_z, trimesh_of
from tests.helpers.print_shapes import box, mesh
from tests.helpers.rows import spec
from tests.helpers.shops import shop_with
from vent_family.base.shop import Shop, demo_shop
from vent_family.evidence.cost.mould.moulding import Moulding, moulding_of
from vent_family.evidence.cost.part import PartCost, bodies_to_print, part_cost
from vent_family.evidence.cost.sheet import PartToPrint, order_cost, parts_per_plate, plate_of
from vent_family.evidence.printing.report import Printed, PrintReport, printing_report, sliced
from vent_family.evidence.printing.settings import PrintSettings
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of

SHOP = demo_shop()
SETTINGS = PrintSettings(SHOP.printing, SHOP.temperature.of("ASA"), 0.2)


def shop(**machine: float) -> Shop:
    return shop_with(machine=machine)


@cache
def block() -> PrintReport:
    part = spec("rectangular", size="40x40", slat_form="folded", material="ASA")
    return printing_report(part, mesh_of(build_solids(part).vent, 0.05, 0.3), {}, SHOP)


@cache
def moulded_block() -> Moulding:
    part = block().spec
    return moulding_of(part, mesh_of(build_solids(part).vent, 0.05, 0.3), {}, SHOP)


def costed() -> PartCost:
    found = part_cost(block(), moulded_block(), SHOP)
    assert found is not None
    return found


@cache
def body(x: float, y: float, z: float) -> Printed:
    solid = box((0.0, x), (0.0, y), (0.0, z))
    return sliced(*mesh(solid), block().spec.material, SETTINGS, SHOP)


def test_vent_and_locknut_lie_on_plates_of_their_own() -> None:
    """A vent 40 x 10 x 4 and a nut 20 x 30 x 2 mm: 6 x 20 and 12 x 8 of them on 300 x 300 mm.

    305 / 45 = 6 by 305 / 15 = 20; 305 / 25 = 12 by 305 / 35 = 8. ASA weighs 1.07 g/cm3; three
    quarters of the cores are left out, 37.3 x 7.3 x 2.2 and 17.3 x 27.3 x 0.2 mm.
    """
    vent, nut = body(40.0, 10.0, 4.0), body(20.0, 30.0, 2.0)
    report = replace(block(), vent=vent, beside={"locknut": nut})
    bodies = bodies_to_print(report)
    assert [b.size_mm for b in bodies] == [pytest.approx((40, 10, 4)), pytest.approx((20, 30, 2))]
    cores = (37.3 * 7.3 * 2.2, 17.3 * 27.3 * 0.2)
    masses = [(v - 0.75 * core) * 1.07e-3 for v, core in zip((1600.0, 1200.0), cores, strict=True)]
    assert [b.mass_g for b in bodies] == pytest.approx(masses)
    found = part_cost(report, moulded_block(), SHOP)
    assert found is not None
    assert found.printed.plate.parts == 120
    vents, nuts = found.printed.plates
    assert (vents.body, nuts.body) == ("", "locknut")
    assert nuts.plate.parts == 96
    assert nuts.plate.seconds == pytest.approx(nut.seconds(SHOP, 96))
    good = 0.98 * math.exp(-0.002 * nuts.plate.seconds / 3600.0)
    assert nuts.scrap_share == pytest.approx(1.0 - good)
    assert vents.scrap_share > 0.02
    # A nut that does not fit on the bed leaves the part without a price.
    assert part_cost(report, moulded_block(), shop(bed_x_mm=45.0, bed_y_mm=15.0)) is None
    assert [plate.body for plate in costed().printed.plates] == [""]


def test_only_vents_printed_upright_are_pushed_off() -> None:
    report = replace(block(), vent=body(40.0, 10.0, 4.0), beside={"nut": body(20.0, 30.0, 2.0)})
    assert [b.pushed_off for b in bodies_to_print(report)] == [False, False]
    upright = replace(report.spec, print_orientation="upright")
    assert [b.pushed_off for b in bodies_to_print(replace(report, spec=upright))] == [True, False]


def test_moulding_is_set_against_printing_as_many_without_margin() -> None:
    """At the number from which a tool pays, moulded is no dearer; one part fewer, it is."""
    found = costed()
    many = found.tool_pays_from
    assert many is not None
    made = found.moulding
    bodies = bodies_to_print(block())

    def moulded(n: int) -> float:
        return (made.tool + made.setup) / n + made.piece

    assert many > 1000
    assert moulded(many) <= order_cost(bodies, many, SHOP).cost
    assert moulded(many - 1) > order_cost(bodies, many - 1, SHOP).cost


def test_a_mould_that_pays_just_below_bulk_does_not_pay_in_bulk() -> None:
    """Filament 30 % cheaper from 100 parts on; a tool that pays from 90, and again later.

    Every order that its life of 250 parts allows is looked at.
    """
    own = shop_with(material={"bulk_from_parts": 100, "bulk_discount": 0.3})
    bodies = bodies_to_print(block())
    printed = {n: order_cost(bodies, n, own).cost for n in range(1, 251)}
    tool = 90 * (printed[90] - 0.2) - 50.0 - 1e-6
    made = replace(moulded_block(), tool=tool, setup=50.0, piece=0.2, life_parts=250)
    pays = [n for n in printed if (tool + 50.0) / n + 0.2 <= printed[n]]
    assert pays[0] == 90
    first = next(n for n in printed if pays[-(251 - n) :] == list(range(n, 251)))
    assert first > 100
    found = part_cost(block(), made, own)
    assert found is not None
    assert found.tool_pays_from == first


def test_cut_stack_by_what_the_solid_shows() -> None:
    """Every slat is a plate across the cavity, besides two frames of the cover's size.

    The frame is the outline the finished front shows, solid to its edges; a slat's developed
    height is its area in the section over its thickness. 14 per m2 of sheet, 0.35 per m of cut,
    0.75 min a plate at 26 per hour, 0.80 for glue.
    """
    report = block()
    part = report.spec
    front = part.section.front_z_mm - 0.3
    outer = max(section_at_z(trimesh_of(build_solids(part).vent), front), key=lambda p: p.area)
    x0, y0, x1, y1 = outer.bounds
    frame_area, frame_cut = (x1 - x0) * (y1 - y0), 2.0 * (x1 - x0 + y1 - y0)
    width = part.bays[-1][1] - part.bays[0][0]
    slats = part.section.slats
    developed = sum(shoelace(s.outline) for s in slats) / 1.5
    sheet = (developed * width + 2.0 * frame_area) * 1e-6 * 14.0
    cut = (2.0 * (len(slats) * width + developed) + 2.0 * frame_cut) * 1e-3 * 0.35
    hands = (len(slats) + 2) * 0.75 * 26.0 / 60.0
    found = costed()
    assert found.stack.plates == len(slats) + 2
    assert found.stack.cost == pytest.approx(sheet + cut + hands + 0.80, rel=1e-3)


def shoelace(ring: tuple[tuple[float, float], ...]) -> float:
    z, y = np.array(ring).T
    return float(abs(np.dot(z, np.roll(y, -1)) - np.dot(y, np.roll(z, -1))) / 2.0)


def test_a_bed_that_takes_one_part_has_a_price() -> None:
    x, y, z = block().vent.size_mm
    tight = shop(bed_x_mm=x + 1.0, bed_y_mm=y + 1.0, bed_z_mm=z)
    assert parts_per_plate((x, y, z), tight) == 1
    found = part_cost(block(), moulded_block(), tight)
    assert found is not None
    assert found.printed.plate.parts == 1
    low = shop(bed_z_mm=z - 0.01)
    assert part_cost(block(), moulded_block(), low) is None


@pytest.mark.parametrize(
    ("bed", "part", "count"),
    [
        # Rows by hand, 5 mm apart: (200 + 5) // (60 + 5) = 3 by (105) // (45) = 2.
        ((200.0, 100.0), (60.0, 40.0), 6),
        # Turned: (205) // 45 = 4 by 105 // 65 = 1 gives 4, so as given.
        ((100.0, 200.0), (60.0, 40.0), 6),
        # 110 x 50 on 120 x 300: as given 1 x 5, turned 2 x 2.
        ((120.0, 300.0), (110.0, 50.0), 5),
        ((300.0, 120.0), (110.0, 50.0), 5),
    ],
)
def test_rows_on_a_bed_that_is_not_square(
    bed: tuple[float, float], part: tuple[float, float], count: int
) -> None:
    machine = shop(bed_x_mm=bed[0], bed_y_mm=bed[1])
    assert parts_per_plate((*part, 10.0), machine) == count
    assert parts_per_plate((part[1], part[0], 10.0), machine) == count


def test_the_last_plate_of_an_order_counts_though_it_is_not_full() -> None:
    """12 to a plate and 20 machines, no part thrown away: 240 parts fill one round.

    241 parts are 20 plates and one part more: two rounds.
    """
    part = PartToPrint((80.0, 60.0, 30.0), np.full(150, 40.0), 50.0, "ASA")
    clean = shop_with(machine={"failures_per_h": 0.0}, labour={"scrap_base": 0.0})
    day = plate_of(part, 240, clean).seconds / 3600.0 / 24.0
    assert 10.0 / 24.0 < day < 1.0
    assert order_cost((part,), 240, clean).days == pytest.approx(day)
    assert order_cost((part,), 241, clean).days == pytest.approx(1.0 + day)
