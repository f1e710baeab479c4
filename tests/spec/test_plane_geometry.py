"""When lines pass banks of slats, by plane geometry worked out here by hand.

Source: plane geometry, nothing else. A line y = a + b z is blocked by a solid for a between the
least and the greatest y - b z of its corners: its shadow. Slats one pitch p apart cast shadows one
pitch apart, so lines of slope b are stopped, and miss by m, where the shadows of one pitch leave
no gap and overlap by m sqrt(1 + b^2) at least.

**Two banks of plates**, height v, thickness t, gap g, the second half a pitch higher. A plate's
shadow is v + b t long. From bank to bank it moves by p / 2, and by b (t + g) more. The gap between
the shadow of a plate and that of the second one above it (one of either bank) closes where
v + b t >= p / 2 + b (t + g), so v >= p / 2 + b g: steeper lines need more. At b = p / (2 (t + g))
the second bank's shadows fall on the first's; past it they come out on the other side, and less is
needed again. There v = p / 2 + p g / (2 (t + g)), and the margin on top.

**One bank of blades at 45 degrees**, depth d, upright thickness r = t sqrt 2, height v = d + r. The
corners (0, 0), (0, r), (-d, d), (-d, d + r) cast a shadow of d (1 + b) + r for b >= -1. Level lines
are stopped where d tan 45 deg + r >= p, the louvre maker's rule; but lines along the blades,
b = -1, see the whole passage, p cos 45 deg - t wide.

**One bank of folds**, two such blades ridge to ridge: the outer one stops falling lines, the
inner one rising ones. The shadow is d (1 + |b|) + r, least for level lines: v >= p and the margin.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from vent_family.spec.bounds import Bounds
from vent_family.spec.choice import endless_margin
from vent_family.spec.foregone import passing_mm
from vent_family.spec.sightlines import free_widths
from vent_family.spec.stack import Stack

MARGIN = 0.2


def high_vent(stack: Stack, height: float = 400.0) -> Bounds:
    """Return bounds so high that the ends of the banks decide nothing."""
    inner = 2.0 - stack.depth_mm - 4.6
    return Bounds(
        front_z_mm=3.0,
        front_margin_mm=1.0,
        floor_front_mm=-height / 2.0,
        slope_deg=5.0,
        drain_height_mm=4.0,
        apron_thickness_mm=2.0,
        ceiling_max_mm=height / 2.0,
        ceiling_min_mm=height / 2.0 - stack.pitch_mm,
        inner_z_mm=inner,
        foot_z_mm=inner + 1.6,
        sill_top_mm=-height / 2.0 + 10.0,
    )


def plates(pitch: float, height: float, thickness: float, gap: float) -> Stack:
    return Stack("flat", thickness, pitch, height, (gap,), 0.5, (1, 1))


def least_height(pitch: float, thickness: float, gap: float, margin: float) -> float:
    """Return the least height of plates in two staggered banks."""
    slope = pitch / (2.0 * (thickness + gap))
    return pitch / 2.0 + slope * gap + margin * math.hypot(1.0, slope)


@pytest.mark.parametrize(
    ("pitch", "thickness", "gap"),
    [(16.0, 2.5, 2.7), (12.0, 1.5, 4.0), (8.0, 3.0, 2.7), (9, 0.8, 6)],
)
def test_two_banks_of_plates_close_from_the_height_on_that_plane_geometry_gives(
    pitch: float, thickness: float, gap: float
) -> None:
    least = least_height(pitch, thickness, gap, MARGIN)
    for height in (least - 0.05, least + 0.05):
        stack = plates(pitch, height, thickness, gap)
        closes = height > least
        assert (endless_margin(stack).margin_mm >= MARGIN) is closes
        assert (passing_mm(stack, high_vent(stack), -190.0) <= -MARGIN) is closes


def test_the_line_that_just_passes_is_as_wide_as_the_height_falls_short() -> None:
    """Along the decisive slope the gap is what is missing, seen square to the line."""
    least = least_height(12.0, 1.5, 4.0, 0.0)
    assert least == pytest.approx(6.0 + 24.0 / 5.5)
    steep = math.hypot(1.0, 12.0 / 11.0)
    for short in (0.5, 1.0, 2.0):
        stack = plates(12.0, least - short, 1.5, 4.0)
        assert passing_mm(stack, high_vent(stack), -190.0) == pytest.approx(short / steep, abs=0.03)


def test_one_bank_of_blades_is_seen_through_along_the_blades() -> None:
    for pitch, height, thickness in ((6.5, 9.0, 1.5), (10.0, 8.0, 1.0), (8.0, 16.0, 2.0)):
        stack = Stack("inclined", thickness, pitch, height, (), 0.0, (1,))
        passage = pitch / math.sqrt(2.0) - thickness
        assert endless_margin(stack).margin_mm == pytest.approx(-passage)
        assert passing_mm(stack, high_vent(stack), -190.0) == pytest.approx(passage, abs=0.03)


@pytest.mark.parametrize("rise", [-0.5, 0.0, 0.4, 1.0])
def test_blades_stop_a_slope_from_the_depth_on_that_the_louvre_rule_gives(rise: float) -> None:
    """Depth x (tan 45 deg + slope) + upright thickness against the pitch; level lines: slope 0."""
    pitch, thickness = 7.0, 1.2
    depth = (pitch - thickness * math.sqrt(2.0)) / (1.0 + rise)
    for more in (-0.3, 0.3):
        height = depth + more + thickness * math.sqrt(2.0)
        stack = Stack("inclined", thickness, pitch, height, (), 0.0, (1,))
        shape = stack.shape
        boxes = stack.slat_boxes(0, [k * pitch for k in range(-20, 21)])
        solids = [piece for box in boxes for piece in shape.pieces(box)]
        z = stack.bank_z(0)
        walls = ((z[0], -60.0), (z[1], -60.0)), ((z[0], 60.0), (z[1], 60.0))
        (width,) = free_widths(np.array([rise]), solids, *walls)
        assert width == pytest.approx(-more * (1.0 + rise) / math.hypot(1.0, rise))


def test_one_bank_of_folds_closes_as_soon_as_level_lines_are_stopped() -> None:
    for overlap in (-0.5, 0.1, 0.3, 2.0):
        stack = Stack("folded", 1.2, 8.0, 8.0 + overlap, (), 0.0, (1,))
        assert endless_margin(stack).margin_mm == pytest.approx(overlap)
        found = passing_mm(stack, high_vent(stack), -190.0)
        assert found <= -MARGIN if overlap > MARGIN else found == pytest.approx(-overlap, abs=0.03)


def test_nothing_is_said_of_a_vent_too_low_for_the_line() -> None:
    """The decisive line of two banks 9.5 mm deep climbs by more than this vent is high."""
    stack = plates(16.0, 10.0, 2.5, 2.7)
    low, high = (replace(high_vent(stack, h), sill_top_mm=-h / 2.0 + 10.0) for h in (45.0, 120.0))
    assert passing_mm(stack, low, low.sill_top_mm) < -MARGIN
    assert passing_mm(stack, high, high.sill_top_mm) > 1.0


def test_a_line_is_said_to_pass_from_the_height_on_that_leaves_it_a_whole_pitch() -> None:
    """Worked out for lines that rise inwards: the sill's inner edge and the ceiling bound them.

    Plates 10 mm high are passed, or nearly, from the slope b on at which
    8 + 2.7 b + 0.2 sqrt(1 + b^2) = 10. Between a ceiling at least 16 mm below the roof and a sill
    10 mm over the floor, 13.3 mm of depth take 13.3 b off the height; 16 mm must be left.
    """
    low, high = 0.0, 1.0
    while high - low > 1e-9:
        slope = 0.5 * (low + high)
        passed = 8.0 + 2.7 * slope + MARGIN * math.hypot(1.0, slope) > 10.0
        low, high = (low, slope) if passed else (slope, high)
    least = 16.0 + 13.3 * high + 16.0 + 10.0
    stack = plates(16.0, 10.0, 2.5, 2.7)
    for more in (-2.0, -0.3, 0.3, 2.0):
        vent = high_vent(stack, least + more)
        assert vent.front_z_mm - vent.inner_z_mm == pytest.approx(13.3)
        assert (passing_mm(stack, vent, vent.sill_top_mm) > -MARGIN) is (more > 0.0)
