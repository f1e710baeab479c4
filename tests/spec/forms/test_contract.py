"""What every slat form promises, measured with shapely on the outlines it draws."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import nullcontext
from itertools import pairwise

import numpy as np
import pytest
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union

from tests.helpers.leaning import LEANING
from tests.helpers.rows import row
from vent_family.base.limits import GAP_MIN, SLAT_MIN_UPRIGHT, SLIVER_MIN, STRAND_MIN
from vent_family.catalog import model
from vent_family.spec.forms import FORMS, IN, OUT, SlatBox, SlatForm
from vent_family.spec.resolve import resolve
from vent_family.spec.stack import Stack, narrow_places

FORM = pytest.mark.parametrize("form", [*FORMS, LEANING], ids=lambda f: f.name)


def sizes() -> list[tuple[float, float, float]]:
    """Return pitches, heights and thicknesses (mm) of slats that face their neighbours."""
    rng = np.random.default_rng(8)
    found = []
    for _ in range(40):
        thickness = rng.uniform(0.5, 3.0)
        pitch = rng.uniform(5.0 * thickness + 2.0, 40.0)
        lowest = pitch / 2.0 + thickness
        height = rng.uniform(lowest, 0.95 * pitch)
        found.append((float(pitch), float(height), float(thickness)))
    return found


SIZES = sizes()


FEET = pytest.mark.parametrize("foot", [0.0, STRAND_MIN.value], ids=["sharp", "on feet"])


def boxes(
    form: SlatForm, slopes: tuple[int, ...] = (OUT, IN), foot: float = 0.0
) -> Iterator[tuple[float, SlatBox]]:
    """Yield a pitch and the box of one slat for every size and slope; on feet, of those that are
    thick enough to print upright."""
    for pitch, height, thickness in SIZES:
        if foot and thickness < SLAT_MIN_UPRIGHT.value:
            continue
        cuts = form.cuts_mm(foot)
        depth = form.bank_depth_mm(height + sum(cuts), thickness)
        for slope in slopes if form.slopes_chosen else (OUT,):
            corner = (-3.0 - depth, 7.0)
            place = (corner[0], -3.0), (corner[1], corner[1] + height)
            yield pitch, SlatBox(*place, thickness, slope, cuts)


def height_of(slat: SlatBox) -> float:
    """Return the height (mm) of a slat's box."""
    return slat.y_mm[1] - slat.y_mm[0]


def whole_height_of(slat: SlatBox) -> float:
    """Return the height (mm) of a slat before its corners are cut off."""
    return height_of(slat) + sum(slat.cuts_mm)


def widths(shape: BaseGeometry, at: float, *, level: bool) -> list[float]:
    """Return the lengths (mm) of what a line through a section meets; level: at a height."""
    far = 1e3
    ends = [(-far, at), (far, at)] if level else [(at, -far), (at, far)]
    cut = shape.intersection(LineString(ends))
    return [part.length for part in getattr(cut, "geoms", [cut]) if part.length > 1e-6]


@FORM
@FEET
def test_outline_is_one_polygon_that_fills_its_box(form: SlatForm, foot: float) -> None:
    for _, slat in boxes(form, foot=foot):
        shape = Polygon(form.outline(slat))
        assert shape.is_valid
        assert shape.area > 0.0
        (z0, z1), (y0, y1) = slat.z_mm, slat.y_mm
        assert shape.bounds == pytest.approx((z0, y0, z1, y1), abs=1e-9)


@FORM
@FEET
def test_pieces_are_convex_and_cover_the_outline_once(form: SlatForm, foot: float) -> None:
    for _, slat in boxes(form, foot=foot):
        shape = Polygon(form.outline(slat))
        pieces = [Polygon(p) for p in form.pieces(slat)]
        for piece in pieces:
            assert piece.is_valid
            assert piece.area == pytest.approx(piece.convex_hull.area, rel=1e-12)
        assert unary_union(pieces).symmetric_difference(shape).area < 1e-9 * shape.area
        assert sum(p.area for p in pieces) == pytest.approx(shape.area, rel=1e-12)


@FORM
@FEET
def test_leaves_make_up_the_slat(form: SlatForm, foot: float) -> None:
    for _, slat in boxes(form, foot=foot):
        shape = Polygon(form.outline(slat))
        leaves = [Polygon(p) for p in form.leaves(slat)]
        assert all(leaf.is_valid for leaf in leaves)
        assert sum(leaf.area for leaf in leaves) == pytest.approx(shape.area, rel=1e-12)
        assert unary_union(leaves).symmetric_difference(shape).area < 1e-9 * shape.area


@FORM
@FEET
def test_leaves_are_as_thick_as_asked_for(form: SlatForm, foot: float) -> None:
    for _, slat in boxes(form, foot=foot):
        leaves = form.leaves(slat)
        first = Polygon(leaves[0])
        # A slat that bends as a whole though it is not convex is made of such plates.
        whole = first.area < first.convex_hull.area - 1e-9
        for leaf in form.pieces(slat) if whole else leaves:
            corners = np.array(leaf)
            edges = np.roll(corners, -1, axis=0) - corners
            normals = np.column_stack([-edges[:, 1], edges[:, 0]]) / np.hypot(*edges.T)[:, None]
            # The width of a convex shape is least square to one of its edges.
            widths = np.ptp(corners @ normals.T, axis=0)
            # A short lip may be wider than it is long.
            mine = widths[np.argmin(np.abs(widths - slat.thickness_mm))] if whole else widths.min()
            assert mine == pytest.approx(slat.thickness_mm, rel=1e-9)


@FORM
@FEET
def test_passage_is_the_least_distance_between_neighbours(form: SlatForm, foot: float) -> None:
    for pitch, slat in boxes(form, foot=foot):
        lower = Polygon(form.outline(slat))
        distance = lower.distance(translate(lower, 0.0, pitch))
        passage = form.passage_mm(pitch, whole_height_of(slat), slat.thickness_mm)
        assert passage == pytest.approx(distance, rel=1e-9)


@FORM
def test_air_runs_square_to_the_shortest_way_between_neighbours(form: SlatForm) -> None:
    for pitch, slat in boxes(form):
        lower = Polygon(form.outline(slat))
        here, there = nearest_points(lower, translate(lower, 0.0, pitch))
        lean = math.degrees(math.atan2(abs(there.x - here.x), there.y - here.y))
        assert lean == pytest.approx(form.slant_deg, abs=1e-6)


@FORM
@FEET
def test_free_fraction_is_the_least_open_share_of_a_plane(form: SlatForm, foot: float) -> None:
    for pitch, slat in boxes(form, foot=foot):
        shape = Polygon(form.outline(slat))
        corners = sorted({z for z, _ in form.outline(slat)})
        # What a plane covers changes linearly from corner to corner, so the corners decide.
        places = [z + d for z in corners for d in (-1e-7, 1e-7)]
        places += [(a + b) / 2 for a, b in pairwise(corners)]
        covered = max(
            shape.intersection(LineString([(z, -100.0), (z, 100.0)])).length for z in places
        )
        free = form.free_fraction(pitch, whole_height_of(slat), slat.thickness_mm)
        assert free == pytest.approx(1.0 - covered / pitch, abs=1e-6)


@FORM
def test_path_through_a_bank_spans_its_depth(form: SlatForm) -> None:
    for _, height, thickness in SIZES:
        along = form.path_mm(height, thickness) * math.cos(math.radians(form.slant_deg))
        assert along == pytest.approx(form.bank_depth_mm(height, thickness), abs=thickness)
        assert along > 0.0


@FORM
@pytest.mark.parametrize("thickness", [0.5, 1.0, 1.5, 3.0, 6.0])
def test_a_slat_of_the_least_height_is_still_a_slat(form: SlatForm, thickness: float) -> None:
    height = form.least_height_mm(thickness)
    depth = form.bank_depth_mm(height, thickness)
    shape = Polygon(form.outline(SlatBox((-depth, 0.0), (0.0, height), thickness)))
    assert shape.is_valid
    # A millimetre of plate at the least, and as thick as asked for.
    assert shape.area >= thickness * 1.0
    assert height > thickness


@FORM
def test_gaps_and_stubs_leave_no_sliver(form: SlatForm) -> None:
    for pitch, slat in boxes(form):
        height, thickness = height_of(slat), slat.thickness_mm
        if thickness < form.thinnest.value:
            continue
        assert form.apron_gap_mm(pitch, height) >= GAP_MIN.value
        assert 0.0 < form.ceiling_gap_mm(pitch, height) <= form.apron_gap_mm(pitch, height)
        stub = form.stub_mm(thickness)
        bottom = slat.y_mm[0]
        left = Polygon(form.outline(slat)).intersection(box(-1e3, bottom, 1e3, bottom + stub))
        assert left.bounds[3] - left.bounds[1] >= SLIVER_MIN.value - 1e-9
        assert left.area >= 0.5 * SLIVER_MIN.value**2


@FORM
def test_a_slat_begins_on_its_bed_with_two_beads(form: SlatForm) -> None:
    """Face down the bed is a plane z = const in front of the slat, upright a level below it."""
    for _, slat in boxes(form):
        if slat.thickness_mm >= form.thinnest.value and form is not LEANING:
            shape = Polygon(form.outline(slat))
            first = widths(shape, slat.z_mm[1] - 1e-6, level=False)
            assert min(first) > STRAND_MIN.value - 1e-5
    for _, slat in boxes(form, foot=STRAND_MIN.value):
        if form is not LEANING:
            shape = Polygon(form.outline(slat))
            first = widths(shape, slat.y_mm[0] + 1e-6, level=True)
            assert min(first) > STRAND_MIN.value - 1e-5
            # A plank ends as it begins; a fold ends in its ridge.
            if form.slopes_chosen:
                last = widths(shape, slat.y_mm[1] - 1e-6, level=True)
                assert last == pytest.approx(first, abs=1e-5)


@FORM
def test_the_widest_feet_leave_two_beads_of_a_slats_end(form: SlatForm) -> None:
    """Printed face down, a slat begins with its end; none has feet without acute corners."""
    for _, height, thickness in SIZES:
        most = form.foot_most_mm(thickness)
        if most is None:
            assert form.cuts_mm(1.0) == (0.0, 0.0)
            continue
        if thickness < form.thinnest.value:
            continue
        cuts = form.cuts_mm(most)
        depth = form.bank_depth_mm(height + sum(cuts), thickness)
        for slope in (OUT, IN) if form.slopes_chosen else (OUT,):
            slat = SlatBox((-depth, 0.0), (0.0, height), thickness, slope, cuts)
            shape = Polygon(form.outline(slat))
            first = widths(shape, -1e-6, level=False)
            assert min(first) == pytest.approx(STRAND_MIN.value, abs=1e-5)
            feet = widths(shape, 1e-6, level=True)
            assert min(feet) == pytest.approx(most, abs=1e-5)


@FORM
@FEET
def test_a_slat_cut_short_is_a_piece_of_it_that_begins_like_a_whole_one(
    form: SlatForm, foot: float
) -> None:
    for _, slat in boxes(form, foot=foot):
        thickness = slat.thickness_mm
        remnant = form.remnant_mm(thickness)
        if thickness < form.thinnest.value or height_of(slat) < remnant + 0.1:
            continue
        whole = Polygon(form.outline(slat))
        for share in (0.01, 0.3, 0.99):
            low = slat.y_mm[0] + share * (height_of(slat) - remnant)
            short = form.shortened(slat, low)
            shape = Polygon(form.outline(short))
            assert shape.is_valid
            assert shape.difference(whole.buffer(1e-9)).area < 1e-12
            # It reaches from the cut to the slat's own upper end.
            assert shape.bounds[1] == pytest.approx(low, abs=1e-9)
            assert shape.bounds[3] == pytest.approx(slat.y_mm[1], abs=1e-9)
            pieces = [Polygon(p) for p in form.pieces(short)]
            assert sum(p.area for p in pieces) == pytest.approx(shape.area, rel=1e-12)
            assert all(p.area == pytest.approx(p.convex_hull.area, rel=1e-12) for p in pieces)
            assert Polygon(form.outline(short)).buffer(-0.2).area > 0.0
            if form is LEANING:
                continue
            beds = [widths(shape, shape.bounds[2] - 1e-6, level=False)]
            if foot:
                beds.append(widths(shape, low + 1e-6, level=True))
            wholes = [widths(whole, slat.z_mm[1] - 1e-6, level=False)]
            wholes.append(widths(whole, slat.y_mm[0] + 1e-6, level=True))
            for first, of_whole in zip(beds, wholes, strict=False):
                assert min(first) > min(*of_whole, STRAND_MIN.value) - 1e-5


@FORM
def test_many_stacks_are_answered_like_each_alone(form: SlatForm) -> None:
    pitch, height, thickness = (np.array(column) for column in zip(*SIZES, strict=True))
    together = (
        form.bank_depth_mm(height, thickness),
        form.passage_mm(pitch, height, thickness),
        form.free_fraction(pitch, height, thickness),
        form.path_mm(height, thickness),
    )
    for i, (p, h, t) in enumerate(SIZES):
        alone = (
            form.bank_depth_mm(h, t),
            form.passage_mm(p, h, t),
            form.free_fraction(p, h, t),
            form.path_mm(h, t),
        )
        assert [float(column[i]) for column in together] == pytest.approx(alone, rel=1e-15)


@FORM
def test_turns_are_counted_between_banks(form: SlatForm) -> None:
    banks = np.array([1, 2, 3, 5])
    changes = np.array([0, 1, 1, 4])
    turns = form.turns_between(banks, changes)
    assert ((turns >= 0) & (turns < banks)).all()
    if form.slopes_chosen:
        assert turns.tolist() == changes.tolist()
    if form.slant_deg == 0.0:
        assert not turns.any()


@FORM
def test_air_table_is_in_order_or_absent(form: SlatForm) -> None:
    table = form.air_table
    if table is None:
        assert form is LEANING
        return
    for axis in (table.thicknesses_mm, table.height_ratios, table.gap_ratios, table.reynolds):
        assert len(axis) >= 2
        assert all(a < b for a, b in pairwise(axis))
    assert all(a < b for a, b in pairwise(table.single_height_ratios))
    # One bank closes only where its slats are higher than the pitch and still leave a passage.
    single = table.single_height_ratios
    assert bool(single) == (form.passage_mm(1.0, 1.0, 0.1) > 0.0)
    assert all(height >= 1.0 for height in single)
    assert table.shifts[0] <= 0.5 <= table.shifts[1]
    assert 0.0 < table.thicknesses_mm[-1] < table.pitch_mm


@FORM
@pytest.mark.parametrize(
    ("family", "size"), [("rectangular", "80x60"), ("round", "M40x1.5"), ("flanged", "120x120")]
)
def test_defaults_make_a_vent_that_no_line_passes(form: SlatForm, family: str, size: str) -> None:
    with nullcontext() if form.name in FORMS else FORMS.registered(form):
        section = resolve(row(family, size=size, slat_form=form.name)).section
        stack = section.stack
        assert stack.shape is form
        assert (stack.pitch_mm, stack.bank_count) == (
            form.defaults.pitch_mm,
            form.defaults.bank_count,
        )
        assert not narrow_places(stack)
        assert section.closed
        # Slats of neighbouring banks, and of one bank, keep clear of each other.
        shapes = [Polygon(s.outline) for s in section.slats]
        assert unary_union(shapes).area == pytest.approx(sum(s.area for s in shapes), rel=1e-12)


def test_boxes_of_a_stack_stand_one_behind_the_other() -> None:
    stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 4.0), 0.5, (OUT, IN, OUT))
    places = [stack.slat_box(bank, 0.0).z_mm for bank in range(3)]
    assert [a - b for (a, _), (_, b) in pairwise(places)] == pytest.approx([3.0, 4.0])
    assert [stack.slat_box(bank, 0.0).slope for bank in range(3)] == [OUT, IN, OUT]


@pytest.mark.parametrize(
    "lacking",
    [
        "name",
        "defaults",
        "slopes_chosen",
        "slant_deg",
        "folds",
        "jets_strike",
        "thinnest",
        "cuts_mm",
        "foot_most_mm",
        "remnant_mm",
        "shortened",
        "solver_cells",
        "corner_clear_mm",
        "bank_depth_mm",
        "passage_mm",
        "free_fraction",
        "path_mm",
        "turns_between",
        "least_height_mm",
        "outline",
        "pieces",
        "leaves",
        "apron_gap_mm",
        "ceiling_gap_mm",
        "stub_mm",
        "air_table",
    ],
)
def test_a_form_that_lacks_a_member_is_refused_by_its_name(lacking: str) -> None:
    members = {n: v for n, v in vars(type(LEANING)).items() if n != lacking}
    partial = type("Partial", (), members)()
    own = "Partial" if lacking == "name" else "leaning"
    with pytest.raises(TypeError) as refused:
        FORMS.register(partial)
    assert str(refused.value) == f"the slat form {own} lacks the member {lacking}"
    assert "leaning" not in FORMS
    assert "leaning" not in model.SLAT_FORMS
