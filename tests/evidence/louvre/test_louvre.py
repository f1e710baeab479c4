"""Louvre classes: limits, hand values, and what an overflowing pool does to them."""

from __future__ import annotations

import math

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.summary import summarise
from vent_family.evidence.louvre.classes import discharge_class, effectiveness_class
from vent_family.evidence.louvre.record import louvre_record
from vent_family.evidence.louvre.report import LouvreReport, louvre_report
from vent_family.spec.areas import areas_of
from vent_family.spec.vent import VentSpec


@pytest.fixture(scope="module")
def vent() -> VentSpec:
    return spec("rectangular", size="50x40", slat_form="folded")


@pytest.fixture(scope="module")
def report(vent: VentSpec) -> LouvreReport:
    areas = areas_of(vent)
    return louvre_report(vent, vent_air(vent, areas=areas), summarise(vent, areas), areas)


@pytest.mark.parametrize(
    ("value", "name"),
    [(1.0, "A"), (0.99, "A"), (0.989, "B"), (0.95, "B"), (0.949, "C"), (0.80, "C"), (0.799, "D")],
)
def test_effectiveness_classes(value: float, name: str) -> None:
    """EN 13030:2001, from memory: A from 0.99, B 0.95 to 0.989, C 0.80 to 0.949, D below."""
    assert effectiveness_class(value) == name


@pytest.mark.parametrize(
    ("value", "name"),
    [(0.4, 1), (0.399, 2), (0.3, 2), (0.299, 3), (0.2, 3), (0.199, 4), (0.0, 4)],
)
def test_discharge_classes(value: float, name: int) -> None:
    """EN 13030:2001, from memory: 1 from 0.4, 2 from 0.3, 3 from 0.2, 4 up to 0.199."""
    assert discharge_class(value) == name


def test_discharge_coefficient_is_that_of_k(vent: VentSpec, report: LouvreReport) -> None:
    """On its own area a coefficient is 1 / sqrt K; K stands on the opening in the panel."""
    opening_mm2 = 50.0 * 40.0
    by_hand = opening_mm2 / report.core_area_mm2 / math.sqrt(summarise(vent).k_in)
    assert report.discharge_coefficient == pytest.approx(by_hand, rel=1e-6)


def test_free_area_is_the_smallest_one(vent: VentSpec, report: LouvreReport) -> None:
    assert report.free_area_mm2 == min(a.area_mm2 for a in areas_of(vent).open)
    # Clear width of the core: 50 - 2 x 2.3 mm of wall and fit, and ribs between.
    width = sum(b - a for a, b in vent.bays)
    height = vent.section.ceiling_mm - vent.section.drain_mm[0]
    assert report.core_area_mm2 == pytest.approx(width * height, rel=1e-9)
    assert report.free_area_percent == pytest.approx(
        report.free_area_mm2 / (width * height) * 100.0
    )


def test_classes_follow_the_worse_end_and_end_where_the_pool_runs_over(
    report: LouvreReport,
) -> None:
    velocities = [at.core_velocity_m_s for at in report.at]
    assert velocities == [0.5 * k for k in range(len(velocities))]
    for at in report.at:
        assert 0.0 <= at.effectiveness_low <= at.effectiveness_high <= 1.0
        assert at.predicted_class == effectiveness_class(at.effectiveness_low)
    # A strong fan sucks any pool over a sill of a dozen millimetres: 12 mm are 118 Pa.
    assert report.overflows_from_m_s == velocities[-1]
    assert report.at[-1].predicted_class == "D"
    assert report.label_at(3.5) == f"D{report.discharge_class}"
    assert report.at[0].effectiveness_low > 0.9
    with pytest.raises(KeyError):
        report.label_at(0.7)


def test_record_states_the_classes_at_one_metre_a_second(report: LouvreReport) -> None:
    record = louvre_record(report)
    assert record.classes_predicted == report.label_at(1.0)
    assert len(record.effectiveness) == len(report.at)
    assert "not tested" in record.caution
