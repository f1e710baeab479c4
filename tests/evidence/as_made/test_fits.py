"""Fits of the printed part, worked out again by hand from a row's numbers and a shop's table."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest
import shapely
from shapely.affinity import scale

from tests.helpers.rows import spec as resolved_row
from vent_family.base.shop import Shop, demo_shop
from vent_family.evidence.as_made.fits import BOUGHT, Fit, fits_of, worst_of
from vent_family.evidence.as_made.kind import AS_MADE, nut_words
from vent_family.evidence.as_made.made import Made, made_of, nut_of
from vent_family.evidence.as_made.section import made_margin_mm
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec


def shop_with(in_plane: float, in_height: float, scatter_mm: float, *, comp: bool = False) -> Shop:
    """Return the demo's table with one shrinkage for all materials."""
    shop = demo_shop()
    one = shop.shrinkage.of("ASA").model_copy(
        update={"in_plane": in_plane, "in_height": in_height, "scatter_mm": scatter_mm}
    )
    names = type(shop.shrinkage).model_fields
    every = shop.shrinkage.model_copy(update=dict.fromkeys(names, one))
    return shop.model_copy(update={"shrinkage": every, "compensate_meshes": comp})


def fits(spec: VentSpec, shop: Shop, narrowest_mm: float | None = None) -> dict[str, Fit]:
    found = fits_of(spec, made_of(spec, shop), nut_of(spec, shop), narrowest_mm)
    return {fit.name: fit for fit in found}


def numbers(fit: Fit) -> list[float]:
    return [fit.drawn, fit.expected, fit.least, fit.most]


def test_a_body_in_its_opening() -> None:
    """80 x 60 mm opening, 0.3 mm a side drawn, 1 % in the layers and 0.4 % across, 0.2 mm scatter.

    The body is 79.4 wide; printed 78.606, so 0.697 a side; the scatter is shared by both sides.
    """
    shop = shop_with(0.01, 0.004, 0.2)
    flat = fits(resolved_row(size="80x60"), shop)
    assert numbers(flat["fit in the opening, width"]) == pytest.approx([0.3, 0.697, 0.597, 0.797])
    assert flat["fit in the opening, height"].expected == pytest.approx(0.3 + 0.01 * 59.4 / 2)
    stood = fits(resolved_row(size="80x60", print_orientation="upright"), shop)
    assert stood["fit in the opening, width"].expected == pytest.approx(0.697)
    assert stood["fit in the opening, height"].expected == pytest.approx(0.3 + 0.004 * 59.4 / 2)


def test_threads_of_m20_in_both_nuts() -> None:
    """Limits of M20x1.5 as published for 6g and 6H: d2 18.994/18.854, D2 19.026/19.216."""
    spec = resolved_row(family="round", size="M20x1.5", material="PA")
    shop = shop_with(0.004, 0.002, 0.1)
    found = fits(spec, shop)
    d2 = (18.994 + 18.854) / 2
    behind = 0.002 * 6.0 * math.sqrt(3.0)
    expected = [
        (19.026 - d2) / 4,
        ((19.026 + 19.216) / 2 - 0.996 * d2 - behind) / 4,
        (19.026 - 0.996 * d2 - 0.1 - behind) / 4,
        (19.216 - 0.996 * d2 + 0.1 - behind) / 4,
    ]
    bought = found[BOUGHT]
    assert numbers(bought) == pytest.approx(expected, abs=1e-3)
    # Half of what a printed pair in PA is given, 0.2 mm.
    assert bought.limits[0] == pytest.approx(0.1)
    assert not bought.needed
    own = found["thread in its own nut"]
    # Both shrink alike; either diameter may be off by 0.1, half of it on each side.
    assert numbers(own) == pytest.approx([0.2, 0.996 * 0.2, 0.0992, 0.2992])


def test_a_neck_that_comes_out_as_drawn_binds_in_metal_but_not_in_its_own_nut() -> None:
    spec = resolved_row(family="round", size="M32x1.5")
    found = fits(spec, shop_with(0.0, 0.0, 0.12))
    assert found[BOUGHT].least < 0.0
    assert found[BOUGHT].outcome == "fails"
    assert found["thread in its own nut"].outcome == "holds"
    # It tells on the neck, not on the part, which comes with its own nut.
    assert worst_of(tuple(found.values())).outcome == "holds"
    wild = fits(spec, shop_with(0.0, 0.0, 0.4))
    assert wild["thread in its own nut"].outcome == "marginal"
    assert worst_of(tuple(wild.values())).outcome != "holds"


@pytest.mark.parametrize(
    ("in_plane", "scatter_mm", "start"),
    [
        (0.0, 0.12, "Use its own locknut. A bought metal nut of class 6H may bind"),
        (0.0, 0.4, "A bought metal nut of class 6H may bind"),
        (0.02, 0.05, "Its own locknut fits; a bought metal nut of class 6H does, too"),
        (0.02, 0.2, "A bought metal nut of class 6H fits"),
    ],
)
def test_no_nut_is_named_to_use_that_may_bind(
    in_plane: float, scatter_mm: float, start: str
) -> None:
    """0.15 mm between the printed pair; 2 % of 31 mm less is 0.16 mm more between bought flanks."""
    found = fits(resolved_row(family="round", size="M32x1.5"), shop_with(in_plane, 0.0, scatter_mm))
    (words,) = nut_words(tuple(found.values()))
    assert words.startswith(start)


def test_no_nut_is_named_where_there_is_none() -> None:
    assert nut_words(tuple(fits(resolved_row(size="80x60"), demo_shop()).values())) == []


def test_gaps_and_slats_shrink_by_the_worse_share() -> None:
    shop = shop_with(0.02, 0.004, 0.1)
    spec = resolved_row(size="80x60")
    found = fits(spec, shop, narrowest_mm=0.5)
    gap = found["narrowest gap for water and air"]
    assert numbers(gap) == pytest.approx([3.0, 2.94, 2.84, 3.04])
    assert gap.outcome == "holds"
    assert numbers(found["narrowest gap to print"]) == pytest.approx([0.5, 0.49, 0.39, 0.59])
    assert found["narrowest gap to print"].outcome == "marginal"
    slat = found["slat thickness"]
    assert numbers(slat) == pytest.approx([1.5, 1.47, 1.37, 1.57])
    thick = fits(resolved_row(size="80x60", print_orientation="upright"), shop)["slat thickness"]
    # Upright slats are drawn 1.2 mm or more, as layers cross their roots: three quarters are left.
    assert thick.limits[0] == pytest.approx(0.98 * 0.9)


def test_a_gasket_is_squeezed_less_in_a_deep_recess() -> None:
    """2 mm sheet in a recess of 1.2: two fifths; 0.2 more or less of depth is a tenth of it."""
    spec = resolved_row(family="flanged", size="92x92")
    fit = fits(spec, shop_with(0.0, 0.0, 0.2))["gasket squeeze"]
    assert numbers(fit) == pytest.approx([0.4, 0.4, 0.3, 0.5])
    assert fit.outcome == "holds"
    # Face down the recess is as deep as the part is high: 5 % of 1.2 mm is three hundredths of 2.
    shrunk = fits(spec, shop_with(0.01, 0.05, 0.2))["gasket squeeze"]
    assert numbers(shrunk) == pytest.approx([0.4, 0.43, 0.33, 0.53])
    loose = fits(spec, shop_with(0.0, 0.0, 0.35))["gasket squeeze"]
    assert loose.outcome == "marginal"


@pytest.mark.parametrize(
    ("numbers", "outcome"),
    [((1.0, 0.9, 1.1), "holds"), ((1.0, 0.7, 1.1), "marginal"), ((0.7, 0.6, 0.8), "fails")],
)
def test_outcomes(numbers: tuple[float, float, float], outcome: str) -> None:
    expected, least, most = numbers
    assert Fit("x", "mm", 1.0, expected, least, most, (0.8, math.inf)).outcome == outcome
    assert Fit("x", "mm", 1.0, -expected, -most, -least, (-9.0, -0.8)).outcome == outcome


def test_compensated_meshes_leave_the_scatter_alone() -> None:
    spec = resolved_row(size="80x60")
    assert made_of(spec, shop_with(0.01, 0.01, 0.2, comp=True)) == Made((0.0, 0.0, 0.0), 0.2)


@pytest.mark.parametrize("form", ["inclined", "folded", "flat"])
def test_sight_margin_scales_with_the_part(form: str) -> None:
    section = resolved_row(size="80x60", slat_form=form).section
    made = Made((0.02, 0.02, 0.02), 0.1)
    assert made_margin_mm(section, made, 0.0) == pytest.approx(0.98 * section.sight.margin_mm)


def open_lines(section: Section, shares: tuple[float, float], thinner_mm: float) -> int:
    """Return how many of many straight lines get through a printed section: by brute force."""
    solids = shapely.union_all(
        [shapely.Polygon(s.outline) for s in section.slats] + [shapely.Polygon(section.apron)]
    )
    half = thinner_mm / 2.0
    solids = scale(solids, 1 - shares[1], 1 - shares[0], origin=(0.0, 0.0)).buffer(
        -half, join_style="mitre"
    )
    walls = shapely.union_all(
        [
            shapely.affinity.translate(section.ground(-500.0), 0.0, -half),
            shapely.affinity.translate(section.roof(500.0), 0.0, half),
        ]
    )
    walls = scale(walls, 1 - shares[1], 1 - shares[0], origin=(0.0, 0.0))
    z0, z1 = (z * (1 - shares[1]) for z in (section.inner_z_mm, section.front_z_mm))
    low, high = section.lowest_mm, section.highest_mm
    inner, outer = np.meshgrid(np.arange(low, high, 0.2), np.arange(low, high, 0.2))
    ends = np.stack(
        [
            np.column_stack([np.full(inner.size, z0 + 1e-6), inner.ravel()]),
            np.column_stack([np.full(inner.size, z1 - 1e-6), outer.ravel()]),
        ],
        axis=1,
    )
    body = solids.union(walls)
    shapely.prepare(body)
    return int((~shapely.intersects(body, shapely.linestrings(ends))).sum())


@pytest.mark.parametrize("form", ["inclined", "folded", "flat"])
def test_sight_margin_of_the_printed_section_against_a_grid_of_lines(form: str) -> None:
    """Slats that are thinner by more than what is left let some line through; else none."""
    section = resolved_row(size="50x50", slat_form=form).section
    shares = (0.01, 0.004)
    made = Made((0.01, *shares), 0.1)
    closed = next(t for t in (1.0, 0.5, 0.25, 0.1, 0.0) if made_margin_mm(section, made, t) > 0.0)
    wide = next(t for t in np.arange(0.4, 1.45, 0.05) if made_margin_mm(section, made, t) < -0.35)
    assert open_lines(section, shares, closed) == 0
    assert open_lines(section, shares, float(wide)) > 0


def test_worst_case_margin_is_told() -> None:
    # Sharp corners: a line between two of them opens by more than the slats thin.
    spec = resolved_row(size="80x60", slat_foot_mm=0.0)
    fit = fits(spec, shop_with(0.0, 0.0, 0.3))["sight margin"]
    assert fit.least == pytest.approx(made_margin_mm(spec.section, Made((0, 0, 0), 0.3), 0.3))
    assert fit.least < fit.drawn - 0.3 < fit.most
    assert fit.outcome == "holds"
    thin = replace(fit, least=0.1)
    assert thin.outcome == "marginal"


def test_every_fit_that_does_not_hold_is_told_at_the_top() -> None:
    """Not the first of them alone: a sight line may hang on the second."""
    spec = resolved_row(family="round", size="M50x1.5", slat_form="flat", material="PP")
    found = fits(spec, demo_shop())
    short = {n for n, fit in found.items() if fit.outcome != "holds" and fit.needed}
    assert {"gasket squeeze", "sight margin"} <= short

    class Computed:
        def of(self, kind: object) -> tuple[Fit, ...]:
            assert kind is AS_MADE
            return tuple(found.values())

    told = [s for s in AS_MADE.sentences(cast(Any, Computed())) if s.startswith("As printed")]
    assert len(told) == len(short)
    assert all(any(name in sentence for sentence in told) for name in short)


@pytest.mark.parametrize("material", ["ASA", "PETG", "PA", "PC", "PP"])
@pytest.mark.parametrize(
    ("form", "way", "drawn"),
    [("inclined", "face_down", 0.64), ("inclined", "upright", 1.2), ("flat", "face_down", 0.5)],
)
def test_a_slat_at_its_minimum_does_not_fail_as_printed(
    material: str, form: str, way: str, drawn: float
) -> None:
    """One and a half of two beads: 0.675 of a strand of 0.9 mm, the plank's thickness times root 2.

    Whether that is left hangs on shrinkage and scatter; two beads are asked of the drawing alone.
    """
    spec = resolved_row(
        size="80x60",
        material=material,
        slat_form=form,
        print_orientation=way,
        slat_thickness_mm=drawn,
        rib_count=4,
        bank_count=5 if form == "flat" else None,
    )
    shop = demo_shop()
    fit = fits(spec, shop)["slat thickness"]
    own = shop.shrinkage.of(material)
    left = drawn * (1.0 - max(own.in_plane, own.in_height)) - own.scatter_mm
    enough = 0.75 * drawn * (1.0 - max(own.in_plane, own.in_height))
    assert fit.outcome == ("holds" if left >= enough else "marginal")
    assert f"(drawn {drawn:g})" in fit.words()


def test_gaps_and_sight_at_their_minimum_do_not_fail_as_printed() -> None:
    """The limit is of the drawing: 2.7 mm of gap that come out as 2.65 are what it allows."""
    shop = shop_with(0.02, 0.01, 0.1)
    made = made_of(resolved_row(size="80x60"), shop)
    found = fits(resolved_row(size="80x60"), shop, narrowest_mm=0.4)
    assert found["narrowest gap to print"].outcome == "marginal"
    assert fits(resolved_row(size="80x60"), shop, 0.39)["narrowest gap to print"].outcome == "fails"
    gap = found["narrowest gap for water and air"]
    assert gap.limits[0] == pytest.approx(2.7 * 0.98)
    sight = found["sight margin"]
    assert sight.limits[0] == pytest.approx(made.shrunk(0.2, 0))


def test_a_screens_frame_in_its_rails() -> None:
    """60 x 60 mm: 59.4 wide, rails of 0.9 mm that lean by 45 degrees; mesh of 1 mm, 0.28 mm wire.

    Normal to each rail 0.76 mm are left, 0.56 of it mesh, which does not shrink. All else shrinks
    by 1 %, either width may be off by 0.1 mm, and half of each on each side.
    """
    found = fits(resolved_row(screen_mm=1.0), shop_with(0.01, 0.0, 0.1))
    play = found["play of the screen's frame in its rails"]
    expected, off = 0.99 * 0.76 - 0.56, 0.1 / math.sqrt(2.0)
    assert numbers(play) == pytest.approx([0.2, expected, expected - off, expected + off])
    # Pulled back until the slanting faces are tight: p / sin 45, and the play before the mesh.
    gap = found["gap over the screen's frame"]
    grown = 1.0 + math.sqrt(2.0)
    assert numbers(gap) == pytest.approx([p * grown for p in numbers(play)])
    assert gap.limits == (-math.inf, 1.0)
    assert play.outcome == "holds"
    ring = fits(resolved_row(family="round", screen_mm=1.0), shop_with(0.01, 0.0, 0.1))
    assert "play of the screen's frame in its rails" not in ring
