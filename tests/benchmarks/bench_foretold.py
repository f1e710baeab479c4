"""Prices foretold without a solid, against those of the parts as they are examined.

Every row of the catalogue, and rows drawn from the whole range of every column, are built and
priced; then the same from the row alone. Told are the worst differences, and the processor time of
either way. Run

    python tests/benchmarks/bench_foretold.py --random 60

from the project's root; ``--largest 250`` bounds openings and heads, mm. ``--quick 250`` sets the
quick price against the foretold one on so many random rows instead, and tells the band between them
that holds for all.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from random import Random
from typing import Any

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.helpers.any_row import any_cells  # noqa: E402
from vent_family.base.problems import InputError  # noqa: E402
from vent_family.base.rates import demo_rates  # noqa: E402
from vent_family.catalog.model import CatalogRow  # noqa: E402
from vent_family.catalog.reader import read_catalog  # noqa: E402
from vent_family.evidence.context import PartContext  # noqa: E402
from vent_family.evidence.cost.foretold import foretold_price, quick_price  # noqa: E402
from vent_family.evidence.cost.part import printed_cost  # noqa: E402
from vent_family.evidence.printing.kind import PRINTING  # noqa: E402
from vent_family.spec.resolve import resolve  # noqa: E402
from vent_family.spec.vent import VentSpec  # noqa: E402


def random_vents(seed: str, count: int, largest_mm: float) -> Iterator[VentSpec]:
    """Yield vents of random rows; those that break a rule are drawn again."""
    number, found = 0, 0
    while found < count:
        cells = any_cells(Random(f"{seed}-{number}"), largest_mm)
        number += 1
        try:
            vent = resolve(CatalogRow(**(cells | {"part_number": f"ANY-{number - 1}"})))
            _ = vent.section.air
        except InputError:
            continue
        except Exception as error:  # a fault of the rules: told, and gone on from
            print(f"ANY-{number - 1}: {type(error).__name__}: {error}")
            continue
        found += 1
        yield vent


def compared(vent: VentSpec) -> dict[str, Any]:
    """Return what a part costs and weighs either way, and what that took."""
    rates = demo_rates()
    begun = time.process_time()
    foretold = {n: foretold_price(vent, rates.shop, n) for n in (1, 100, 1_000, 10_000)}
    told_ms = (time.process_time() - begun) * 1e3 / len(foretold)
    begun = time.process_time()
    report = PartContext(vent, rates).of(PRINTING)
    cost = printed_cost(report, rates.shop)
    real_ms = (time.process_time() - begun) * 1e3
    one = foretold[1]
    result: dict[str, Any] = {
        "told_ms": told_ms,
        "real_ms": real_ms,
        "mass": one.mass_g / report.vent.mass_g - 1.0,
        "fits": one.fits_bed == (cost is not None),
        "price": 0.0,
        "count": True,
    }
    if cost is not None and one.fits_bed:
        off = [foretold[o.parts].price / o.price - 1.0 for o in cost.orders]  # type: ignore[operator]
        result["price"] = max(off, key=abs)
        result["count"] = all(foretold[o.parts].parts_fit == o.plate.fit for o in cost.orders)
    return result


def quick_band(vents: Iterator[VentSpec]) -> None:
    """Print between what ratios to the quick price the foretold price lies, and what both take."""
    shop = demo_rates().shop
    ratios: list[float] = []
    told_ms: dict[str, list[float]] = {}
    for vent, quantity in zip(vents, cycle((1, 250, 5_000)), strict=False):
        begun = time.process_time()
        band = quick_price(vent, shop, quantity)
        middle = time.process_time()
        found = foretold_price(vent, shop, quantity)
        ended = time.process_time()
        assert (band is None) == (found.price is None), vent.row
        if band is None or found.price is None:
            continue
        kind = f"{vent.family} {vent.print_orientation}"
        told_ms.setdefault(kind, []).append((middle - begun) * 1e3)
        told_ms.setdefault("foretold", []).append((ended - middle) * 1e3)
        ratios.append(found.price / band.mean)
        if not band.low <= found.price <= band.high:
            print(f"OUT OF THE BAND: {ratios[-1]:.3f} of {vent.part_number}", flush=True)
        if len(ratios) % 50 == 0:
            print(f"{len(ratios)}: {min(ratios):.4f} to {max(ratios):.4f}", flush=True)
    low, high = min(ratios), max(ratios)
    print(f"{len(ratios)} prices: {low:.4f} to {high:.4f} of the quick one")
    for kind, taken in told_ms.items():
        print(f"{kind}: {np.mean(taken):.1f} ms of processor time, at most {max(taken):.1f}")


def main() -> None:
    """Print every part's differences and the worst of all."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--random", type=int, default=60)
    parser.add_argument("--seed", default="foretold")
    parser.add_argument("--largest", type=float, default=250.0)
    parser.add_argument("--catalog", type=Path, default=ROOT / "catalog.csv")
    parser.add_argument("--quick", type=int, metavar="N")
    given = parser.parse_args()
    if given.quick is not None:
        quick_band(random_vents(given.seed, given.quick, given.largest))
        return
    vents = [resolve(source.row) for source in read_catalog(given.catalog).rows]
    found = []
    for vent in (*vents, *random_vents(given.seed, given.random, given.largest)):
        row = compared(vent)
        found.append(row)
        print(
            f"{vent.part_number:10} {vent.family:12} {vent.print_orientation:9}"
            f" price {100.0 * row['price']:+6.2f} %  mass {100.0 * row['mass']:+6.2f} %"
            f"  {row['told_ms']:5.0f} ms of {row['real_ms']:6.0f}"
            f"{'' if row['fits'] and row['count'] else '  OTHER COUNT ON A PLATE'}"
        )
    for name in ("price", "mass"):
        values = 100.0 * np.array([row[name] for row in found])
        print(f"{name}: from {values.min():+.2f} to {values.max():+.2f} %, {len(found)} parts")
    ways = [np.array([row[name] for row in found]) for name in ("told_ms", "real_ms")]
    print(
        f"processor time a part: {ways[0].mean():.0f} ms, at most {ways[0].max():.0f}; built and"
        f" examined {ways[1].mean():.0f} ms"
    )


if __name__ == "__main__":
    main()
