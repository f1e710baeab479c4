"""Slats between ribs that give way, against finite elements of whole banks with their ribs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import pytest

from tests.helpers.fe_bank import FeBank, Plate, fe_bank
from tests.helpers.rows import spec
from vent_family.evidence.strength.beams import (
    FIXED,
    cross_section,
    end_moment_nmm,
    pushed_beam,
    sprung_moments,
)
from vent_family.evidence.strength.ribs import end_stiffness_nmm, strip_mm
from vent_family.evidence.strength.shells import Shell
from vent_family.evidence.strength.slats import slat_bounds, slat_leaves, slat_under_thumb

MODULUS, POISSON, BAY, RIB, LOAD, SPREAD = 1900.0, 0.36, 24.1, 1.6, 20.0, 15.0
R2 = math.sqrt(2.0)
Slopes = tuple[tuple[float, float, float], ...]


class Bank:
    """Two banks of three slats each, 1 mm behind the front, and the ribs' ends."""

    def __init__(self, slant: float, depth: float, high: float, pitch: float, gap: float) -> None:
        self.slant = slant
        self.slats: list[Plate] = []
        fronts = (-1.0, -1.0 - depth - gap)
        for bank, z in enumerate(fronts):
            for k in range(3):
                w = (k + bank / 2) * pitch
                self.slats.append(Plate(bank, (z - depth, z), (w, w + high)))
        self.z_ends = (fronts[1] - depth - 2.0, 0.0)
        self.w_ends = (-pitch / 2, 3.0 * pitch + high)
        a, b, c, d = fronts[1] - depth, fronts[1], fronts[0] - depth, fronts[0]
        self.slopes: Slopes = (
            (self.z_ends[0], a, 0.0),
            (a, b, slant),
            (b, c, 0.0),
            (c, d, -slant),
            (d, 0.0, 0.0),
        )

    def rise(self, z: float) -> float:
        return sum(s * (min(max(z, z0), z1) - z0) for z0, z1, s in self.slopes)

    def outline(self, slat: Plate) -> tuple[tuple[float, float], ...]:
        (z0, z1), (w0, w1) = slat.z, slat.w
        ring = ((z0, w0), (z1, w0), (z1, w1), (z0, w1))
        return tuple((z, w + self.rise(z)) for z, w in ring)

    def line(self, w: float) -> tuple[tuple[float, float], ...]:
        places = [self.slopes[0][0], *(z1 for _, z1, _ in self.slopes)]
        return tuple((z, w + self.rise(z)) for z in places)


# Planks 6.25 mm high and 1.5 mm thick; thick ones; plates 9 mm high, 1.5 mm thick.
BANKS = {
    "plank": Bank(1.0, 6.25 - 1.5 * R2, 1.5 * R2, 6.5, 3.0),
    "thick plank": Bank(1.0, 7.5 - 2.0 * R2, 2.0 * R2, 8.0, 3.0),
    "plate": Bank(0.0, 1.5, 9.0, 12.0, 4.0),
}


@lru_cache(maxsize=8)
def solved(name: str, further: int) -> FeBank:
    bank = BANKS[name]
    return fe_bank(
        bank.slats,
        1,
        bank.slopes,
        bank.z_ends,
        bank.w_ends,
        BAY,
        RIB,
        LOAD,
        SPREAD,
        MODULUS,
        POISSON,
        further,
    )


def end_share(bank: Bank, model: FeBank) -> float:
    """Return the moment at the ends of the solved slat over that of fixed ends.

    A beam has W (L / 4 - c / 8) to share between middle and ends. The model tells the mean moment
    over the middle quarter of the load, where it falls short of the middle's by W c / 96 on
    average (the load takes (W / c) x^2 / 2 off it). The push along z bends a leaning slat by its
    share across the slat.
    """
    share = math.sqrt(0.5) if bank.slant else 1.0
    middle = model.moment_nmm / share + LOAD * SPREAD / 96.0
    fixed = LOAD * (3.0 * BAY**2 - SPREAD**2) / (24.0 * BAY)
    return (LOAD * (BAY / 4.0 - SPREAD / 8.0) - middle) / fixed


def predicted(bank: Bank, further: int) -> tuple[float, float]:
    """Return the same share as the strips of the ribs give it, and the deflection (mm)."""
    outline = bank.outline(bank.slats[1])
    others = [bank.outline(s) for s in bank.slats if s is not bank.slats[1]]
    lines = [bank.line(bank.w_ends[0]), bank.line(bank.w_ends[1])]
    strip = strip_mm(outline, others, lines, bank.z_ends)
    section = cross_section(outline)
    bends = MODULUS * section.least_inertia_mm4
    beyond = 3.0 * bends / BAY if further else 0.0
    k = end_stiffness_nmm(strip, RIB, MODULUS, POISSON, beyond)
    moments = sprung_moments(LOAD, BAY, bends, (k, k), SPREAD)
    way = pushed_beam(section, BAY, LOAD, (-1.0, 0.0), MODULUS, SPREAD, POISSON, (k, k))
    return moments.ends_nmm[0] / end_moment_nmm(LOAD, BAY, SPREAD), way.deflection_mm


@pytest.mark.parametrize(("name", "further"), [("plank", 1), ("thick plank", 1), ("plate", 0)])
def test_ribs_hold_slats_as_finite_elements_say(name: str, further: int) -> None:
    """The share of the fixed ends' moment that is left, and the way the slat gives."""
    bank, model = BANKS[name], solved(name, further)
    share, way = predicted(bank, further)
    assert model.unknowns > 5000
    found = end_share(bank, model)
    assert 0.85 < found < 0.99
    assert share == pytest.approx(found, abs=0.025)
    assert way == pytest.approx(model.deflection_mm, rel=0.12)


def test_sprung_beam_against_numbers() -> None:
    """Both ends turn as their springs say, by double integration of the moment found."""
    load, span, bends, spread = 30.0, 20.0, 4e4, 8.0
    ends = (9e3, 2e3)
    found = sprung_moments(load, span, bends, ends, spread)
    x = np.linspace(0.0, span, 20001)
    pressed = np.clip(x - (span - spread) / 2, 0.0, spread)
    free = load * x / 2 - load * pressed**2 / (2 * spread)
    free = np.where(x > (span + spread) / 2, load * (span - x) / 2, free)
    m1, m2 = found.ends_nmm
    moment = free - m1 * (1 - x / span) - m2 * x / span
    turn = np.concatenate([[0.0], np.cumsum((moment[1:] + moment[:-1]) / 2 * np.diff(x))]) / bends
    sag = np.concatenate([[0.0], np.cumsum((turn[1:] + turn[:-1]) / 2 * np.diff(x))])
    start = sag[-1] / span  # the slope with which both ends stay in place
    assert m1 == pytest.approx(ends[0] * start, rel=1e-4)
    assert m2 == pytest.approx(ends[1] * (turn[-1] - start), rel=1e-4)
    assert found.between_nmm == pytest.approx(float(moment.max()), rel=1e-6)
    # The middle sags by what the turned ends add to W (2 L^3 - 2 L c^2 + c^3) / (384 E I).
    clamped = load * (2 * span**3 - 2 * span * spread**2 + spread**3) / (384 * bends)
    middle = start * span / 2 - sag[10000]
    assert middle == pytest.approx(clamped + found.turned_nmm * span**2 / (16 * bends), rel=1e-4)


def test_springs_end_in_clamps_and_hinges() -> None:
    hinged = sprung_moments(20.0, 24.0, 4e3, (0.0, 0.0), 15.0)
    assert hinged.ends_nmm == (0.0, 0.0)
    assert hinged.between_nmm == pytest.approx(20.0 * (24.0 / 4 - 15.0 / 8))
    clamped = sprung_moments(20.0, 24.0, 4e3, (FIXED, FIXED), 15.0)
    assert clamped.ends_nmm == pytest.approx((end_moment_nmm(20.0, 24.0, 15.0),) * 2, rel=1e-6)
    # One end fixed, the other a hinge, a point load: 3 W L / 16 (Roark, from memory).
    propped = sprung_moments(20.0, 24.0, 4e3, (FIXED, 0.0))
    assert propped.ends_nmm[0] == pytest.approx(3.0 * 20.0 * 24.0 / 16.0, rel=1e-6)
    assert propped.between_nmm == pytest.approx(5.0 * 20.0 * 24.0 / 32.0, rel=1e-6)


def test_each_strip_is_as_long_as_it_is_clear() -> None:
    """A plate 9 mm high; slats half behind it, an apron below, a rib's edge in front."""
    plate = ((-1.5, 0.0), (0.0, 0.0), (0.0, 9.0), (-1.5, 9.0))

    def moved(dz: float, dy: float) -> tuple[tuple[float, float], ...]:
        return tuple((z + dz, y + dy) for z, y in plate)

    whole = strip_mm(plate, [moved(-5.5, 0.0)], [], (-30.0, 1.0))
    assert whole == pytest.approx(9.0 / 4.0)
    third = strip_mm(plate, [moved(-5.5, 6.0), moved(-11.0, 0.0)], [], (-30.0, 1.0))
    assert third == pytest.approx(3.0 / 4.0 + 6.0 / 9.5, rel=0.05)
    both = strip_mm(plate, [moved(-5.5, 0.0), moved(5.5, 0.0)], [], (-30.0, 10.0))
    assert both == pytest.approx(2.0 * whole)
    assert strip_mm(plate, [moved(5.5, 0.0)], [], (-30.0, 3.0)) == 0.0
    floor: Sequence[tuple[float, float]] = ((-4.0, -50.0), (-4.0, 50.0))
    assert strip_mm(plate, [], [tuple(floor)], (-30.0, 1.0)) == pytest.approx(9.0 / 2.5)


def test_thicker_ribs_hold_more_and_all_lies_by_the_clamped_slat() -> None:
    """Ribs are as thick as slats and their strips short: slats are all but clamped."""
    part = spec("rectangular", size="80x60")
    bounds = slat_bounds(part)
    found = slat_under_thumb(part)
    assert bounds.hinged < found.safety
    assert found.safety == pytest.approx(bounds.clamped, rel=0.1)
    thick = spec("rectangular", size="80x60", rib_thickness_mm=3.0, rib_count=2)
    thin = spec("rectangular", size="80x60", rib_thickness_mm=1.6, rib_count=2)
    for a, b in zip(slat_leaves(thin), slat_leaves(thick), strict=True):
        assert min(b.ends_nmm[-1]) > 4.0 * min(a.ends_nmm[-1])


def test_the_next_bay_helps_at_ribs_and_walls_end_there() -> None:
    """Rib and wall alike: what is left between their stiffnesses is 3 E I / L of the next bay."""
    part = spec(
        "rectangular",
        size="60x60",
        slat_form="flat",
        slat_thickness_mm=1.5,
        rib_count=1,
        rib_thickness_mm=2.0,
        wall_mm=2.0,
    )
    inertia = part.section.stack.slat_height_mm * 1.5**3 / 12.0
    helped = 3.0 * part.material.print_profile.modulus_mpa * inertia / part.longest_bridge_mm
    for leaf in slat_leaves(part):
        ((rib, wall),) = leaf.ends_nmm
        assert rib - wall == pytest.approx(helped)


def test_walls_of_a_leaning_slat_are_as_deep_as_its_layers_cut_them() -> None:
    """Walls of 0.9 mm in the layers are 0.9 sin 45 deg = 0.636 mm deep, square to the slat."""
    part = spec("rectangular", size="80x60", slat_thickness_mm=2.4, pitch_mm=9.0, overlap_mm=3.7)
    core = 1.0 - 2.0 * 0.9 * math.sqrt(0.5) / 2.4
    for leaf in slat_leaves(part, Shell(0.9, 0.8)):
        assert leaf.lean == pytest.approx(0.5)
        assert leaf.filled == pytest.approx(1.0 - core**3)
