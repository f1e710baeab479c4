"""Print time: exact kinematics of a line, and a plain prism."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest

from tests.helpers.print_shapes import box, layers_of, mesh
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.filled import Filled
from vent_family.evidence.printing.time import layer_times, line_seconds, plate_seconds
from vent_family.mesh.layers import Layers

PRINTING = demo_shop().printing
PROCESS = demo_shop().process


def solid(layers: Layers) -> Filled:
    none = np.zeros(len(layers.regions))
    return Filled(layers, none, none, 1.0)


def test_line_from_rest_to_rest() -> None:
    """s = a t^2 / 2 up and down; v = 100 mm/s at 2000 mm/s2 is reached after 2.5 mm."""
    length = np.array([1.0, 5.0, 105.0])
    speed = np.full(3, 100.0)
    expected = [2 * math.sqrt(1.0 / 2000.0), 0.1, 0.1 + 1.0]
    assert line_seconds(length, speed, 2000.0) == pytest.approx(expected)


def test_flow_caps_every_bead() -> None:
    """Bead volume over melt rate is a lower bound, approached where the melt rate rules."""
    layers = layers_of(mesh(box((0, 60), (0, 60), (0, 2))))
    slow = layer_times(solid(layers), PRINTING, PROCESS, 1.0)
    melt = layers.volume_mm3 / 1.0
    bead = slow.wall_s.sum() + slow.infill_s.sum()
    assert melt < bead < 1.03 * melt
    fast = layer_times(solid(layers), PRINTING, PROCESS, 1e6)
    assert fast.work_s.sum() < slow.work_s.sum()


def test_walls_and_infill_share_the_layer() -> None:
    layers = layers_of(mesh(box((0, 60), (0, 60), (0, 2))))
    times = layer_times(solid(layers), PRINTING, PROCESS, 1e6)
    # Three walls of 240 mm at 60 and 100 mm/s, each stopping at four corners.
    wall = 4 * (60 / 60 + 60 / 3000) + 8 * (60 / 100 + 100 / 3000)
    assert times.wall_s == pytest.approx(wall, rel=1e-6)
    fill = 3600 / 0.45 - 3 * 240
    assert times.infill_s.min() > fill / PROCESS.infill_mm_s
    assert times.infill_s.max() < 1.2 * fill / PROCESS.infill_mm_s


def test_infill_lines_are_as_long_as_lines_strewn_over_the_layer() -> None:
    """A plate 60 x 20 mm, cut by lines of all directions and places; each is run from rest to rest.

    A line at speed v between ramps takes length / v + v / a, which tells how many lines were run.
    """
    layers = layers_of(mesh(box((0, 60), (0, 20), (0, 2))))
    infill = layer_times(solid(layers), PRINTING, PROCESS, 1e6).infill_s[3]
    v, a = PROCESS.infill_mm_s, PROCESS.acceleration_mm_s2
    fill = 1200 / 0.45 - 3 * 160
    length = fill / ((infill - fill / v) * a / v)
    random = np.random.default_rng(1)
    turn, off = random.uniform(0.0, math.pi, 400_000), random.uniform(-35.0, 35.0, 400_000)
    along, across = (np.cos(turn), np.sin(turn)), (-off * np.sin(turn), off * np.cos(turn))
    # From each line's foot to the sides of the plate, whose middle is the origin.
    ends = [
        np.sort([(-h - c) / d, (h - c) / d], axis=0)
        for h, c, d in zip((30.0, 10.0), across, along, strict=True)
    ]
    chords = np.minimum(ends[0][1], ends[1][1]) - np.maximum(ends[0][0], ends[1][0])
    assert length == pytest.approx(chords[chords > 0.0].mean(), rel=0.01)


def test_a_sparse_core_takes_its_share_of_the_infill() -> None:
    """60 x 60 mm with a core of 57.3 x 57.3 mm filled to a fifth, bead of 0.45 mm: by length.

    Solid, a layer is 8000 mm of bead, 720 of them walls. The core keeps back four fifths of 3283.3
    mm2, 5836.96 mm, all of it infill; the walls take as long as before. Infill runs in lines of
    pi x 3600 / 240 = 47.1 mm, each from rest to rest: time goes by length.
    """
    layers = layers_of(mesh(box((0, 60), (0, 60), (0, 2))))
    count = len(layers.regions)
    full = layer_times(solid(layers), PRINTING, PROCESS, 1e6)
    core = np.full(count, 57.3**2)
    sparse = layer_times(Filled(layers, np.zeros(count), core, 0.2), PRINTING, PROCESS, 1e6)
    assert sparse.wall_s == pytest.approx(full.wall_s)
    assert sparse.travel_s == pytest.approx(full.travel_s)
    left = (8000.0 - 720.0 - 0.8 * 57.3**2 / 0.45) / (8000.0 - 720.0)
    assert sparse.infill_s / full.infill_s == pytest.approx(left, rel=1e-6)


def test_small_layers_wait_to_cool_unless_there_are_many() -> None:
    work = np.full(10, 2.0)
    least, change, start = PROCESS.layer_min_s, PROCESS.layer_change_s, PROCESS.plate_start_s
    assert plate_seconds(work, 1, PROCESS) == pytest.approx(10 * (least + change) + start)
    assert plate_seconds(work, 8, PROCESS) == pytest.approx(10 * (16.0 + change) + start)


def test_travel_between_outlines_by_hand() -> None:
    """A plate of 40 x 40 mm with three square holes: four outlines in one layer.

    A tour of n stops over an area A is 0.7124 sqrt(n A) long (Beardwood, Halton and Hammersley
    1959, from memory): 0.7124 * sqrt(4 * 1600) = 57.0 mm, 14.25 mm a hop, at 200 mm/s and
    3000 mm/s2: 13.33 mm go to speeding up and slowing down, so a hop takes 14.25 / 200 + 200 / 3000
    seconds, and 0.12 s for lifting.
    """
    plate = box((0.0, 40.0), (0.0, 40.0), (0.0, 0.2))
    for x, y in ((5.0, 5.0), (25.0, 5.0), (5.0, 25.0)):
        plate = plate.cut(box((x, x + 9.0), (y, y + 9.0), (-1.0, 1.0)))
    layers = layers_of(mesh(plate))
    times = layer_times(solid(layers), PRINTING, PROCESS, 1e6)
    hop = 0.7124 * math.sqrt(4 * 1600.0) / 4
    by_hand = 4 * (hop / 200.0 + 200.0 / 3000.0 + 0.12)
    assert times.travel_s == pytest.approx([by_hand], rel=1e-6)
    assert times.work_s == pytest.approx(times.wall_s + times.infill_s + by_hand)


def test_travel_between_pieces_by_hand() -> None:
    """Four pegs 4 x 4 mm at the corners of a box of 40 x 40 mm: as long as between four holes."""
    pegs = [box((x, x + 4.0), (y, y + 4.0), (0.0, 0.2)) for x in (0.0, 36.0) for y in (0.0, 36.0)]
    layers = layers_of(mesh(cq.Compound.makeCompound(pegs)))
    assert layers.areas_mm2 == pytest.approx([64.0])
    times = layer_times(solid(layers), PRINTING, PROCESS, 1e6)
    hop = 0.7124 * math.sqrt(4 * 1600.0) / 4
    assert times.travel_s == pytest.approx([4 * (hop / 200.0 + 200.0 / 3000.0 + 0.12)], rel=1e-6)
