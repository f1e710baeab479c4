"""What a front is worth, and that two of the twelve requirements' fronts stay worth what they were.

All twelve are kept by ``tests/benchmarks/proposals.py``, which takes minutes.
"""

from __future__ import annotations

import json
import random

import pytest

from tests.benchmarks.proposals import RECORD, REQUIREMENTS, WORTH, named, worth
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.ladder import Candidate, Figures
from vent_family.proposing.run import Depth, front_for
from vent_family.proposing.search import SearchEffort
from vent_family.proposing.space import space_of

ROW = CatalogRow(part_number="T", family="rectangular", size="40x40", status="draft")
SHORT = Depth(
    SearchEffort(rows=16, generations=3, wetted=4, drawn=600, begun=32), rounds=0, wet=2, ends=4
)
KEPT = {"incubator": 0.1254, "nursery": 0.0874}
"""Worth of the fronts of so short a search when this was written, less a fiftieth."""


def test_worth_is_the_share_of_space_that_a_front_is_better_than() -> None:
    chance = random.Random(3)
    nothing = (8.0, 10.0, 50.0, 0.0)
    front = [
        Candidate(
            ROW.model_copy(update={"part_number": f"T{i}"}),
            "full",
            0.0,
            figures=Figures(8.0 * chance.random(), 10.0 * chance.random(), 50.0 * chance.random()),
        )
        for i in range(5)
    ]
    points = [[chance.random() for _ in range(3)] for _ in range(20000)]
    shares = [
        [c.figures.price / 8.0, c.figures.rise_k / 10.0, c.figures.depth_mm / 50.0]  # type: ignore[operator]
        for c in front
    ]
    inside = sum(
        any(all(a <= b for a, b in zip(s, p, strict=True)) for s in shares) for p in points
    )
    assert worth(front, nothing) == pytest.approx(inside / len(points), abs=0.015)
    assert worth([], nothing) == 0.0


@pytest.mark.parametrize("name", sorted(KEPT))
def test_a_short_search_finds_as_good_a_front_as_it_did(name: str) -> None:
    ((_, asked),) = named([name])
    enquiry = enquiry_of(asked)
    front = front_for(space_of(asked), Crew(enquiry), depth=SHORT)
    nothing = json.loads(WORTH.read_text(encoding="utf-8"))[name]
    assert worth(front.candidates, nothing) >= KEPT[name]


def test_every_requirement_has_its_worth_on_record() -> None:
    names = {path.stem for path in REQUIREMENTS.glob("*.toml")}
    assert len(names) == 12
    assert set(json.loads(WORTH.read_text(encoding="utf-8"))) == names
    record = json.loads(RECORD.read_text(encoding="utf-8"))
    assert set(record) == names
    # So short a search finds nothing for the hose and for the smallest thread.
    assert all(0.0 <= value < 1.0 for value in record.values())
    assert sum(value > 0.0 for value in record.values()) >= 10
