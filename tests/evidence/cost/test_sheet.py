"""Cost formulas: worked examples done by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.helpers.rows import spec
from tests.helpers.shops import shop_with
from vent_family.base.problems import InputError
from vent_family.base.shop import Shop, demo_shop, read_shop
from vent_family.evidence.cost.mould.moulding import moulding_of
from vent_family.evidence.cost.part import part_cost
from vent_family.evidence.cost.sheet import (
    ORDERS,
    SCRAP_MAX,
    PartToPrint,
    cut_plates,
    order_cost,
    parts_per_plate,
    plate_of,
    scrap_share,
)
from vent_family.evidence.printing.report import printing_report
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of

SHOP = demo_shop()
PART = PartToPrint((80.0, 60.0, 30.0), np.full(150, 40.0), 50.0, "ASA")


def test_parts_per_plate_by_hand() -> None:
    """On 300 x 300 with gaps of 5: 3 x 4 lying as given, 4 x 3 turned."""
    assert parts_per_plate((80.0, 60.0, 30.0), SHOP) == 3 * 4
    assert parts_per_plate((300.0, 300.0, 30.0), SHOP) == 1
    assert parts_per_plate((301.0, 10.0, 30.0), SHOP) == 0
    assert parts_per_plate((10.0, 10.0, 301.0), SHOP) == 0
    # 160 x 90 fits three in a column, turned as well as straight one; never overlapping.
    assert parts_per_plate((160.0, 90.0, 30.0), SHOP) == 3


def test_order_by_hand() -> None:
    """150 layers of 40 s: 12 on a plate take 12 x 6000 s and 150 changes, besides the start."""
    plate = plate_of(PART, 100, SHOP)
    seconds = 12 * 6000.0 + 150 * SHOP.process.layer_change_s + SHOP.process.plate_start_s
    assert plate.parts == 12
    assert plate.seconds == pytest.approx(seconds)
    found = order_cost((PART,), 100, SHOP)
    material = 0.050 * 1.04 * 19.0
    machine = seconds / 3600 * 0.55 / 12
    repeated = 26.0 / 60 * (3.0 / 12 + 0.25)
    once = 26.0 / 60 * 25.0 / 100
    # 72495 s are 20.1375 h: 0.002 x 20.1375 = 0.040275, exp(-0.040275) = 0.960525.
    good = 0.98 * 0.960525
    scrap = (material + machine + repeated) * (1.0 - good) / good
    assert found.material == pytest.approx(material)
    assert found.machine == pytest.approx(machine)
    assert found.labour == pytest.approx(repeated + once)
    assert found.scrap == pytest.approx(scrap, rel=1e-4)
    assert found.cost == pytest.approx(material + machine + repeated + once + scrap, rel=1e-6)
    assert found.price == pytest.approx(1.25 * found.cost)
    # 107 parts with scrap make 9 plates, one round on 20 machines, begun at once.
    assert found.days == pytest.approx(seconds / 3600 / 24)


def test_days_to_delivery_count_the_parts_thrown_away() -> None:
    """226 good parts need 240.1 at 5.87 % scrap: 21 plates of 12, and 20 machines go round twice.

    225 need 239.0, twenty plates. A plate takes 20.1 h: it is done at night and the next one begins
    on the next morning.
    """
    plate = plate_of(PART, 226, SHOP)
    assert plate.parts == 12
    days = plate.seconds / 3600 / 24
    assert 10.0 / 24 < days < 1.0
    assert order_cost((PART,), 225, SHOP).days == pytest.approx(days)
    assert order_cost((PART,), 226, SHOP).days == pytest.approx(1.0 + days)


def rates(failures_per_h: float, scrap_base: float) -> Shop:
    return shop_with(machine={"failures_per_h": failures_per_h}, labour={"scrap_base": scrap_base})


def test_scrap_grows_with_the_hours_of_a_plate() -> None:
    """Half of all plates fail within ln 2 / 0.01 = 69.31 h; of the rest a tenth does not pass."""
    own = rates(0.01, 0.1)
    assert scrap_share(0.0, own) == pytest.approx(0.1)
    assert scrap_share(69.3147, own) == pytest.approx(1.0 - 0.9 * 0.5, abs=1e-6)
    assert scrap_share(138.6294, own) == pytest.approx(1.0 - 0.9 * 0.25, abs=1e-6)
    assert scrap_share(500.0, rates(0.0, 0.03)) == pytest.approx(0.03)
    # Plates that would never come through still leave a number.
    assert scrap_share(1e9, own) == SCRAP_MAX


def test_a_year_of_plates_played_through() -> None:
    """40,000 plates, each failing at a time drawn at random; every plate is paid whole."""
    own = rates(0.01, 0.05)
    plate = plate_of(PART, 100_000_000, own)
    hours = plate.seconds / 3600.0
    draw = np.random.default_rng(1)
    through = draw.exponential(1.0 / 0.01, 40_000) > hours
    good = int((draw.random((40_000, plate.parts)) > 0.05)[through].sum())
    one = order_cost((PART,), 100_000_000, own)
    paid = (one.cost - one.scrap) * plate.parts * 40_000
    assert one.cost == pytest.approx(paid / good, rel=0.01)
    assert one.scrap > 0.1 * one.cost


@pytest.mark.parametrize("failures", [0.0, 0.002, 0.02, 0.2])
def test_no_other_plate_makes_a_good_part_cheaper(failures: float) -> None:
    """12 fit; each number of parts a plate played through by hand, the dearer ones left out.

    A plate of n takes n x 6000 s, 150 changes of half a second and 420 s; 26 an hour, 3 minutes a
    plate, a quarter of a minute a part, 0.55 a machine hour, 52 g of plastic at 14.25 a kg.
    """
    own = rates(failures, 0.02)
    cost = {}
    for n in range(1, 13):
        hours = (n * 6000.0 + 75.0 + 420.0) / 3600.0
        spent = 0.052 * 14.25 + hours * 0.55 / n + 26.0 / 60.0 * (3.0 / n + 0.25)
        cost[n] = spent / (0.98 * math.exp(-failures * hours))
    best = min(cost, key=cost.__getitem__)
    assert plate_of(PART, 1000, own).parts == best
    assert plate_of(PART, 1000, own).fit == 12
    once = 26.0 / 60.0 * 25.0 / 1000
    assert order_cost((PART,), 1000, own).cost == pytest.approx(cost[best] + once)
    assert plate_of(PART, 2, own).parts <= 2


def test_what_limits_an_order_is_told() -> None:
    """One part is mostly booking; a thousand of them wait for hands every night."""
    assert order_cost((PART,), 1, SHOP).limits().endswith("% labour; one plate of 1.8 h")
    many = order_cost((PART,), 1000, SHOP)
    assert many.rounds == 5
    assert many.limits().endswith("; 5 plates of 20.1 h on each machine that waits for a hand")
    staffed = shop_with(machine={"attended_h_per_day": 24.0})
    assert order_cost((PART,), 1000, staffed).limits().endswith("h on each machine")


def test_a_locknut_has_plates_of_its_own() -> None:
    """A vent as above and a nut of 25 x 29 x 6 mm, 50 layers of 6 s, 4 g: 10 x 8 on its plate.

    On 300 mm: 305 / 30 = 10 and 305 / 34 = 8; a plate takes 80 x 300 + 50 x 0.5 + 420 s. One order
    is booked, two bodies are looked at, and each has the scrap of its own plate.
    """
    nut = PartToPrint((25.0, 29.0, 6.0), np.full(50, 6.0), 4.0, "ASA")
    plate = plate_of(nut, 1000, SHOP)
    assert (plate.parts, plate.seconds) == (80, 24_445.0)
    both, vent = order_cost((PART, nut), 1000, SHOP), order_cost((PART,), 1000, SHOP)
    material, machine = 0.004 * 1.04 * 19.0 * 0.75, 24_445.0 / 3600.0 * 0.55 / 80
    hands = 26.0 / 60.0 * (3.0 / 80 + 0.25)
    good = 0.98 * math.exp(-0.002 * 24_445.0 / 3600.0)
    scrap = (material + machine + hands) * (1.0 / good - 1.0)
    assert both.material - vent.material == pytest.approx(material)
    assert both.machine - vent.machine == pytest.approx(machine)
    assert both.labour - vent.labour == pytest.approx(hands)
    assert both.scrap - vent.scrap == pytest.approx(scrap)
    assert both.cost == pytest.approx(both.material + both.machine + both.labour + both.scrap)


def test_nuts_print_beside_the_vents_where_machines_are_free() -> None:
    """One vent and one nut: two of 20 machines; 213 vents and their nuts: 22 plates."""
    nut = PartToPrint((25.0, 29.0, 6.0), np.full(50, 6.0), 4.0, "ASA")
    alone = order_cost((PART,), 1, SHOP)
    assert order_cost((PART, nut), 1, SHOP).days == pytest.approx(alone.days)
    # 19 plates of vents (213 need 226.3) and 3 of nuts: two go on in a second round, and a plate
    # takes (19 x 20.1375 + 3 x 6.790) / 22 = 18.317 h in the mean: by hand on the next morning.
    many = order_cost((PART, nut), 213, SHOP)
    assert many.days == pytest.approx(1.0 + 18.317 / 24.0, abs=1e-3)


def test_more_parts_never_cost_more_apiece() -> None:
    prices = [order_cost((PART,), n, SHOP).price for n in ORDERS]
    assert prices == sorted(prices, reverse=True)
    assert order_cost((PART,), 999, SHOP).material > order_cost((PART,), 1000, SHOP).material


def test_cut_plates_by_hand() -> None:
    found = cut_plates(
        SHOP,
        slats=10,
        slat_area_mm2=800.0,
        slat_outline_mm=180.0,
        frame_area_mm2=4800.0,
        frame_outline_mm=280.0,
    )
    sheet = (10 * 800 + 2 * 4800) * 1e-6 * 14.0
    cut = (10 * 180 + 2 * 280) * 1e-3 * 0.35
    assert found.plates == 12
    assert found.cost == pytest.approx(sheet + cut + 12 * 0.75 * 26 / 60 + 0.8)


def test_a_small_vent_costs_a_couple_of_dollars() -> None:
    """A couple of dollars a piece, less above 10,000: common practice, no source."""
    part = spec("rectangular", size="50x50", slat_form="folded")
    mesh = mesh_of(build_solids(part).vent, 0.05, 0.3)
    made = moulding_of(part, mesh, {}, SHOP)
    found = part_cost(printing_report(part, mesh, {}, SHOP), made, SHOP)
    assert found is not None
    by_size = {o.parts: o.price for o in found.printed.orders}
    assert 1.0 < by_size[1000] < 4.0
    assert by_size[10_000] < by_size[1000] < by_size[100] < by_size[1]


def test_part_too_large_for_the_bed_has_no_cost() -> None:
    part = spec("rectangular", size="50x50")
    mesh = mesh_of(build_solids(part).vent, 0.05, 0.3)
    small = shop_with(machine={"bed_x_mm": 40.0})
    made = moulding_of(part, mesh, {}, SHOP)
    assert part_cost(printing_report(part, mesh, {}, SHOP), made, small) is None


def edited(tmp_path: Path, old: str, new: str) -> Path:
    text = (Path(__file__).parents[3] / "vent_family" / "base" / "shop.toml").read_text(
        encoding="utf-8"
    )
    assert old in text
    path = tmp_path / "shop.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def test_own_rates(tmp_path: Path) -> None:
    assert read_shop(edited(tmp_path, "ASA = 19.0", "ASA = 38.0")).material.ASA == 38.0


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("ASA = 19.0", "ASA = -1.0", ["entry material.ASA", "'-1.0'", "greater than 0"]),
        ("ASA = 19.0", "ASA = nan", ["entry material.ASA", "finite"]),
        ("ASA = 19.0", "ASA = 19,0", ["not valid TOML", "line"]),
        ("ASA = 19.0", "ABS = 19.0", ["material.ASA: a rate is missing", "no rate of this name"]),
        ("scrap_base = 0.02", "scrap_base = 1.0", ["labour.scrap_base", "less than 1"]),
        ("failures_per_h = 0.002", "failures_per_h = 0.2", ["machine.failures_per_h", "0.1"]),
        ("wall_count = 3", "wall_count = 2.5", ["printing.wall_count", "integer"]),
        (
            "eject_deg_c = 90.0",
            "eject_deg_c = 260.0",
            ["mould.resin.ASA.eject_deg_c", "below the melt_deg_c of 255"],
        ),
        (
            "mould_deg_c = 85.0",
            "mould_deg_c = 120.0",
            ["mould.resin.PC.mould_deg_c", "below the eject_deg_c of 120"],
        ),
        ("life_shots = 500000", "life_shots = 0", ["mould.tool.life_shots", "1"]),
    ],
)
def test_bad_rates_are_told_in_a_sentence(
    tmp_path: Path, old: str, new: str, words: list[str]
) -> None:
    with pytest.raises(InputError) as caught:
        read_shop(edited(tmp_path, old, new))
    for word in words:
        assert word in str(caught.value)
    assert "shop.toml" in str(caught.value)


def test_missing_file_of_rates(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_shop(tmp_path / "none.toml")
