from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt, label
from shapely import contains_xy
from shapely.geometry import box

from tests.evidence.water.scenes import bounds, random_section, stack
from tests.helpers.rows import spec
from vent_family.evidence.water.access import access_report, bottleneck, widest_disc_mm
from vent_family.spec.forms import OUT
from vent_family.spec.layout import lay_out
from vent_family.spec.section import Section


def test_two_plates_let_the_gap_through() -> None:
    below, above = box(0, -9, 20, 0), box(0, 10, 20, 19)
    plates = [box(5, 0, 6, 6), box(12, 3.5, 13, 10)]
    # Over the first plate 4 mm are free, under the second 3.5 mm, between them at least 6 mm.
    assert bottleneck(below, above, plates) == pytest.approx(3.5)
    assert bottleneck(below, above, []) == pytest.approx(10.0)


def painted(section: Section, step: float) -> float:
    """Return the widest disc by painting: erode a bitmap until inside and outside part."""
    z = np.arange(section.inner_z_mm - 0.5, section.front_z_mm + 6.0, step)
    low = min(y for _, y in section.lower) - 1.0
    high = max(y for _, y in section.upper) + 1.0
    y = np.arange(low, high, step)
    zz, yy = np.meshgrid(z, y, indexing="ij")
    free = contains_xy(section.air, zz, yy)
    free |= (zz >= section.front_z_mm) & (yy > low + 0.0)
    lower, upper = np.array(section.lower), np.array(section.upper)
    inside = zz <= section.inner_z_mm
    free |= inside & (yy > lower[0, 1]) & (yy < upper[0, 1])
    # The inner end stays as high as the bore, the outer end is open to all sides.
    room = distance_transform_edt(np.pad(free, 40, mode="edge"))[40:-40, 40:-40] * step
    small, large = 0.0, 30.0
    for _ in range(14):
        radius = (small + large) / 2
        marks, _count = label(room >= radius)
        ends = set(marks[0][marks[0] > 0]) & set(marks[-1][marks[-1] > 0])
        small, large = (radius, large) if ends else (small, radius)
    return 2 * small


def test_random_sections_agree_with_a_painted_one() -> None:
    rng = np.random.default_rng(11)
    seen = 0
    while seen < 12:
        section = random_section(rng)
        if section is None:
            continue
        seen += 1
        assert widest_disc_mm(section) == pytest.approx(painted(section, 0.1), abs=0.25)


def test_probes_of_a_closed_vent() -> None:
    vent = spec()
    report = access_report(vent.section, vent.longest_bridge_mm)
    assert report.bound_by == "section"
    by_numeral = {p.numeral: p for p in report.probes}
    # Spheres of 50 and 12.5 mm cannot pass slats 3 mm apart; a straight rod finds no line.
    assert not by_numeral[1].passes
    assert not by_numeral[2].passes
    assert by_numeral[4].fits_through
    assert not by_numeral[4].passes
    assert report.sphere_mm <= 2 * vent.section.stack.passage_mm


def test_ribs_bound_the_sphere_where_slats_do_not() -> None:
    made = stack(pitch_mm=30.0, slat_height_mm=6.0, slopes=(OUT,) * 3)
    section = lay_out(made, bounds(made, 90.0))
    report = access_report(section, 8.0)
    assert report.bound_by == "ribs"
    assert report.sphere_mm == 8.0
    rod = next(p for p in report.probes if p.diameter_mm == 2.5)
    assert rod.passes


@pytest.mark.parametrize(
    ("opening", "closed"), [(0.8, {2.5, 1.0}), (1.0, {2.5}), (2.0, {2.5}), (3.0, set())]
)
def test_a_screen_stops_what_is_thicker_than_its_openings(
    opening: float, closed: set[float]
) -> None:
    vent = spec(screen_mm=opening)
    assert vent.body.screen is not None
    bay = vent.longest_bridge_mm
    bare, found = (
        {p.diameter_mm: p.fits_through for p in access_report(vent.section, bay, mesh).probes}
        for mesh in (float("inf"), vent.body.screen.mesh.opening_mm)
    )
    assert {d for d in (1.0, 2.5) if bare[d] and not found[d]} == closed
    report = access_report(vent.section, bay, opening)
    assert report.sphere_mm == pytest.approx(min(opening, widest_disc_mm(vent.section)))
    if closed:
        assert report.bound_by == "screen"
