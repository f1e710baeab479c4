"""A sweep searches each requirement as a single search would, here or on Dask."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from tests.proposing.small import SHALLOW, cooled
from vent_family.base.problems import InputError
from vent_family.base.rates import demo_rates
from vent_family.catalog.model import CatalogRow
from vent_family.front.cli.sweep import _varied, sweep_csv
from vent_family.proposing.crew import Crew
from vent_family.proposing.memory import Memory
from vent_family.proposing.run import front_for
from vent_family.proposing.search import aims_of
from vent_family.proposing.space import space_of
from vent_family.proposing.sweep import (
    MOST,
    SweptRequirement,
    Variation,
    searched_variation,
    shared,
    swept_all,
    variations,
)

QUICK = replace(SHALLOW, rounds=0)
HEATS = {"cabinet.heat_w": [10, 400]}


@pytest.fixture(scope="module")
def wanted() -> list[Variation]:
    return variations(cooled(), HEATS, depth=QUICK, seed=5)


@pytest.fixture(scope="module")
def found(wanted: list[Variation]) -> list[SweptRequirement]:
    return swept_all(wanted)


def test_each_is_found_as_a_search_alone_finds_it(
    wanted: list[Variation], found: list[SweptRequirement]
) -> None:
    enquiry = wanted[0].enquiry
    front = front_for(space_of(enquiry.asked), Crew(enquiry), depth=QUICK, seed=5)
    cheapest = front.candidates[0]
    aims, cells = found[0].best["cheapest"]
    assert aims == aims_of(cheapest.figures)
    data = {k: v for k, v in cells.items() if k != "part_number"}
    assert CatalogRow(part_number=cheapest.row.part_number, **data) == cheapest.row
    assert found[1].best == {}
    assert [dict(one.values) for one in found] == [{"cabinet.heat_w": h} for h in (10, 400)]


def test_the_table_has_a_line_for_each_and_says_where_nothing_does_it(
    found: list[SweptRequirement],
) -> None:
    lines = list(csv.DictReader(io.StringIO(sweep_csv(found))))
    assert [line["cabinet.heat_w"] for line in lines] == ["10", "400"]
    assert float(lines[0]["price"]) > 0.0
    assert lines[0]["family"] == "rectangular"
    assert lines[1]["price"] == ""
    assert lines[1]["problem"] == "nothing that was tried does it"


def test_workers_of_a_cluster_find_the_same(
    wanted: list[Variation], found: list[SweptRequirement]
) -> None:
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        assert swept_all(wanted, scheduler=cluster.scheduler_address) == found


def test_none_gets_a_dearer_row_than_one_that_asks_for_more() -> None:
    """A search that is chance finds one row here and another there; each learns of the others'."""
    easy, hard = variations(cooled(), {"cabinet.heat_w": [5, 20]}, depth=QUICK, seed=5)
    assert easy.alike == hard.alike
    found = searched_variation(hard)
    missed = shared([(easy, SweptRequirement(easy.values, {}, 3)), (hard, found)])
    assert missed[1] == found
    told, cells = missed[0].best["cheapest"]
    price, rise, *rest = found.best["cheapest"][0]
    assert (told[0], told[2:]) == (price, tuple(rest))
    assert 0.0 < told[1] < rise
    assert cells == found.best["cheapest"][1]
    assert missed[0].judged == 3
    # The other way round the row of the easy one is judged by what the hard one asks for.
    (_, none) = shared(
        [(easy, missed[0]), (variations(cooled(), {"cabinet.heat_w": [400]})[0], found)]
    )
    assert none.best == {}
    lost = SweptRequirement(easy.values, {}, 0, "lost")
    assert shared([(easy, lost), (hard, found)])[0] == lost


def test_only_requirements_that_differ_in_their_cabinet_are_alike() -> None:
    one = variations(cooled(), {"cabinet.heat_w": [5, 20], "cabinet.limit_c": [45, 50]})
    assert len({v.alike for v in one}) == 1
    for entry, values in (
        ("opening.size", ["40x40", "45x40"]),
        ("order.quantity", [10, 100]),
        ("air.fan", ["tank-hall-92", "pump-hall-120"]),
    ):
        assert len({v.alike for v in variations(cooled(), {entry: values})}) == 2
    dear = replace(demo_rates(), source="dearer")
    assert variations(cooled(), {"cabinet.heat_w": [5]}, rates=dear)[0].alike != one[0].alike


def test_what_is_remembered_of_rows_changes_nothing(wanted: list[Variation]) -> None:
    enquiry = wanted[0].enquiry
    space = space_of(enquiry.asked)
    memory = Memory(40)
    plain = front_for(space, Crew(enquiry), depth=QUICK, seed=5)
    for cabinet in (None, replace(enquiry.cabinet, heat_w=12.0), enquiry.cabinet):
        again = replace(enquiry, cabinet=cabinet, memory=memory)
        found = front_for(space, Crew(again), depth=QUICK, seed=5)
    assert found.candidates == plain.candidates
    assert found.found.met == plain.found.met


def test_entries_and_values_that_cannot_be_used_are_told() -> None:
    with pytest.raises(InputError, match=r"cabinet.heat_w -5, entry cabinet.heat_w"):
        variations(cooled(), {"cabinet.heat_w": [-5]})
    with pytest.raises(InputError, match="Did you mean heat_w"):
        variations(cooled(), {"cabinet.heat": [5]})
    with pytest.raises(InputError, match=f"at most {MOST}"):
        variations(cooled(), {"cabinet.heat_w": range(50), "order.quantity": range(50)})
    for text in ("cabinet.heat_w", "=5", "a=", "a=5:1:1", "a=1:5", "a=1:5:0", "a=x:5:1"):
        with pytest.raises(InputError, match="--vary"):
            _varied(text)
