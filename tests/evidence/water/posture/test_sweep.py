"""The limits of lean and roll are where the outcome changes; their picture shows each step."""

from __future__ import annotations

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from tests.helpers.conditions import stated_conditions
from tests.helpers.rows import spec
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.posture.mountings import Mounted
from vent_family.evidence.water.posture.pictures import mounting_picture
from vent_family.evidence.water.posture.sweep import Sweeper, largest_deg


def mounted(outcome: Outcome) -> Mounted:
    return Mounted(0.0, 0.0, outcome, "rain", "none", 1.0)


@pytest.mark.parametrize(
    ("fails_from", "marginal_from", "holds", "bears"),
    [(40.5, 22.5, 22.0, 40.0), (200.0, 200.0, 180.0, 180.0), (0.0, 0.0, None, None),
     (5.0, 0.0, None, 4.0), (15.0, 15.0, 14.0, 14.0)],
)  # fmt: skip
def test_limits_are_the_last_whole_degree(
    fails_from: float, marginal_from: float, holds: float | None, bears: float | None
) -> None:
    def at(angle: float) -> Mounted:
        if angle >= fails_from:
            return mounted("fails")
        return mounted("marginal" if angle >= marginal_from else "holds")

    assert largest_deg(at, 180.0, "holds") == holds
    assert largest_deg(at, 180.0, "marginal") == bears


def test_a_hole_in_between_ends_the_range() -> None:
    def at(angle: float) -> Mounted:
        return mounted("fails" if 70.0 < angle < 100.0 else "holds")

    assert largest_deg(at, 180.0, "holds") == 70.0


def test_a_block_holds_up_to_where_its_pool_comes_over_the_sill() -> None:
    vent = spec("rectangular", size="30x30", slat_form="flat")
    conditions = stated_conditions("dripping", 0.5, 3.0)
    report = assess(vent, conditions, advise=False, sweep=True)
    found = report.mountings
    assert found is not None
    assert [m.roll_deg for m in found.rolls] == [15.0 * k for k in range(13)]
    assert [m.tilt_deg for m in found.leans] == [15.0 * k for k in range(-6, 7)]
    assert found.rolls[0].outcome == report.outcome == "holds"
    assert found.rolls[-1].outcome == found.leans[-1].outcome == "fails"
    assert found.leans[0].outcome == "holds"
    assert found.largest_roll_deg is not None
    assert found.largest_lean_back_deg is not None
    sweeper = Sweeper(vent, conditions)
    for lean, roll in ((0.0, found.largest_roll_deg), (found.largest_lean_back_deg, 0.0)):
        assert sweeper.at(lean, roll).outcome == "holds"
        step = (lean + 1.0, 0.0) if roll == 0.0 else (0.0, roll + 1.0)
        assert sweeper.at(*step).outcome != "holds"
    assert f"up to {found.largest_roll_deg:g} degrees" in found.sentence()
    figure = mounting_picture("T1", found)
    roll_axes, lean_axes = figure.axes
    # 24 steps all round, 13 in half a circle.
    assert (len(roll_axes.patches), len(lean_axes.patches)) == (24, 13)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pen = canvas.get_renderer()
    legend = figure.legends[0].get_window_extent(pen)
    for label in (*roll_axes.get_xticklabels(), *lean_axes.get_xticklabels()):
        assert not (label.get_text() and legend.overlaps(label.get_window_extent(pen)))
    data = report.as_dict()["mountings"]
    assert data["largest_roll_deg"] == found.largest_roll_deg


def test_upside_down_tells_the_edge_that_is_left() -> None:
    conditions = stated_conditions("dripping", 0.5, 3.0)
    for family, head, words in (
        ("rectangular", None, "straight in"),
        ("round", None, "runs over the edge of the bore"),
        ("round", 100.0, "below the edge of the bore"),
    ):
        vent = spec(family, head_diameter_mm=head)
        found = assess(vent, conditions, advise=False).upside_down
        assert found.unsafe
        assert words in found.reason
        assert (found.margin_mm > 0.0) == (head is not None)
        # From the ceiling, or a slat that grows out of it, up to the bore's upper edge.
        ways = [min(y for _, y in s.outline) for s in vent.section.slats if s.grown]
        edge = min([vent.section.ceiling_mm, *ways]) - vent.section.mouth_top_mm
        assert found.basin_mm == pytest.approx(max(edge, 0.0))
