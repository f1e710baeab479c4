"""On a coarse grid nothing surpasses the front that a search gives: every row is judged in turn.

Every row's figures are worked out here by the models of the checks, without ladder or search.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Any

import pytest

from vent_family.base.rates import demo_rates
from vent_family.catalog.attached import Attached, packaged_fans
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.predicted import holds
from vent_family.evidence.air.question import question_of
from vent_family.evidence.cost.foretold import foretold_price
from vent_family.evidence.strength.members import strength_report
from vent_family.evidence.strength.shells import shell_of
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import TRIAL_NUMBER, enquiry_of
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.requirement import requirement_of
from vent_family.proposing.run import Depth, front_for
from vent_family.proposing.search import SearchEffort, aims_of, search
from vent_family.proposing.space import space_of
from vent_family.spec.resolve import resolved_or_none
from vent_family.spec.vent import VentSpec

GRID: dict[str, tuple[Any, ...]] = {
    "slat_form": ("folded", "flat", "inclined"),
    "pitch_mm": (None, 5.6, 6.2, 7.0),
    "bank_count": (None, 1, 2),
    "slat_thickness_mm": (0.8, 1.0, 1.2),
    "wall_mm": (None, 1.2),
}
"""216 rows."""
DEPTH = Depth(SearchEffort(16, 8, 4, drawn=100, begun=24), rounds=3, wet=4, ends=40, lesser=0)
FAN = "tank-hall-92"
HEAT_W, PRICE_MOST = 22.0, 1.6
Aims = tuple[float, ...]


def every_row() -> Iterator[CatalogRow]:
    for values in itertools.product(*GRID.values()):
        yield CatalogRow(
            part_number=TRIAL_NUMBER,  # it stands on the part, and weighs
            family="rectangular",
            size="40x40",
            status="draft",
            material="ASA",
            print_orientation="face_down",
            panel_thickness_mm=2.0,
            exposure="dry",
            fan=FAN,
            **dict(zip(GRID, values, strict=True)),
        )


def aims(spec: VentSpec) -> Aims | None:
    """Return price, rise and depth of a vent that does what is asked, ``None`` of another."""
    shop = demo_rates().shop
    price = foretold_price(spec, shop, 1000).price
    if price is None or price > PRICE_MOST:
        return None
    report = strength_report(spec, shell_of(shop.printing))
    if any(check.verdict != "pass" for check in report.checks):
        return None
    fan = parse_fan(packaged_fans()[FAN], FAN)
    question = question_of(spec, Cabinet(HEAT_W, 30.0, 45.0), fan=fan)
    if not holds(question):
        return None
    return price, balance_of(question).rise_k, spec.in_front_mm + spec.behind_mm


def surpasses(one: Aims, other: Aims) -> bool:
    """Tell whether one is nowhere worse than another and somewhere better, by more than a hair."""
    nowhere_worse = all(a <= b + 1e-9 for a, b in zip(one, other, strict=True))
    return nowhere_worse and any(a < b - 1e-9 for a, b in zip(one, other, strict=True))


def test_nothing_on_a_coarse_grid_surpasses_the_front() -> None:
    asked = requirement_of(
        {
            "opening": {"size": "40x40", "families": "rectangular"},
            "cabinet": {"heat_w": HEAT_W, "ambient_c": 30.0, "limit_c": 45.0},
            "air": {"fan": FAN},
            "water": {"exposure": "dry"},
            "order": {"print_orientation": "face_down", "price_most": PRICE_MOST},
        }
    )
    crew = Crew(enquiry_of(asked))
    front = front_for(space_of(asked, GRID), crew, depth=DEPTH)
    found = [aims_of(c.figures)[:3] for c in front.candidates]
    assert len(found) > 1
    attached = Attached(fan_text=packaged_fans()[FAN])
    specs = (resolved_or_none(row, attached) for row in every_row())
    assert len(front.found.met) < 0.6 * math.prod(map(len, GRID.values()))
    every = [a for spec in specs if spec is not None and (a := aims(spec)) is not None]
    assert len(every) > 20
    for best in every:
        assert not any(surpasses(best, mine) for mine in found), best
    # And every row that nothing surpasses is there, or one as good.
    for best in every:
        if not any(surpasses(other, best) for other in every):
            assert any(mine == pytest.approx(best, rel=1e-6) for mine in found), best


def test_a_space_of_which_every_row_is_drawn_ends_the_search() -> None:
    asked = requirement_of({"opening": {"size": "40x40", "families": "rectangular"}})
    few = {"slat_form": GRID["slat_form"][:2]}
    found = search(
        space_of(asked, few),
        lambda rows: [False] * len(rows),
        lambda rows: [Candidate(r, "rules", 1.0) for r in rows],
        lambda candidates: candidates,
        effort=SearchEffort(8, 6, 2),
    )
    assert len(found.met) == 4
