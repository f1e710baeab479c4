"""Rows with an insect screen: the mesh they mean, and what is refused with advice that works."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.helpers.following import advised_cells, problems_of, read_row
from tests.helpers.rows import row, spec
from vent_family.base.problems import InputError
from vent_family.spec.resolve import resolve
from vent_family.spec.screen import WIRES_MM, Mesh
from vent_family.spec.summary import summary


def test_a_blank_wire_is_that_of_a_usual_mesh_and_leaves_most_of_it_open() -> None:
    for opening, wire in WIRES_MM:
        screen = spec(screen_mm=opening).body.screen
        assert screen is not None
        assert screen.mesh == Mesh(opening, wire)
        # One opening of w by w in every square of pitch w + d.
        assert screen.mesh.open_share == pytest.approx(opening**2 / (opening + wire) ** 2)
        assert 0.5 < screen.mesh.open_share < 0.7
    given = spec("round", screen_mm=1.3, screen_wire_mm=0.5).body.screen
    assert given is not None
    assert given.mesh == Mesh(1.3, 0.5)
    assert spec().body.screen is None


def test_a_film_over_a_wet_opening_bears_what_a_bubble_of_its_width_does() -> None:
    """A film that bulges to a half-sphere as wide as the opening: 2 sigma / r, r = w / 2."""
    for opening in (0.5, 1.0, 4.0):
        assert Mesh(opening, 0.2).film_pa == pytest.approx(2 * 0.0728 / (0.5e-3 * opening))


def test_a_screen_reaches_deeper_and_lengthens_a_neck_by_what_its_ring_needs() -> None:
    plain, screened = (summary(spec(**cells)) for cells in ({}, {"screen_mm": 1.0}))
    # Two wires of 0.28 mm, 0.2 mm of play, and the frame of 2 mm.
    more = float(screened["depth behind panel mm"]) - float(plain["depth behind panel mm"])
    assert more == pytest.approx(2 * 0.28 + 0.2 + 2.0)
    neck = spec("round", screen_mm=1.0, panel_thickness_mm=2.0).body.neck
    assert neck is not None
    # Panel, locknut of 7 mm and a ring of 4.5 mm on the thread: 13.5 mm, made whole.
    assert neck.length_mm == 14.0


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"screen_wire_mm": 0.3}, "a wire is given, and no screen"),
        ({"size": "92x92", "screen_mm": 1.0, "fan_mount": "80"}, "takes the place of the screen"),
        ({"screen_mm": 1.0, "screen_wire_mm": 1.0}, "25 % of a mesh of 1 mm open"),
        ({"family": "round", "screen_mm": 1.0, "neck_length_mm": 12.5}, "into the screen's ring"),
        (
            {"size": "40x40", "screen_mm": 2.5, "screen_wire_mm": 1.2, "rib_count": 4},
            "mm of the outermost bays open",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_advice_that_works(
    cells: dict[str, Any], words: str
) -> None:
    made = row(**cells)
    with pytest.raises(InputError, match=words) as refused:
        resolve(made)
    (problem,) = refused.value.problems
    assert problem.suggestion
    cells = {name: value for name, value in made if value is not None}
    assert problems_of(read_row(cells | advised_cells(problem.suggestion))) == ()


def test_windows_end_where_cavity_or_frame_do() -> None:
    """80 x 60 mm, mesh of 1 mm and 0.28 mm: from the block's side 39.7 mm in to the windows.

    0.9 mm of rail, the mesh's room of 0.76 mm before a face that leans by 45 degrees and normal to
    it, 1.2 mm of the frame on the same slant, and a bar of 1.2 mm.
    """
    vent = spec(size="80x60", screen_mm=1.0)
    screen = vent.body.screen
    assert screen is not None
    reach = 39.7 - 0.9 - 0.76 * (1.0 + math.sqrt(2.0)) - 1.2 - 1.2
    across = sum(min(x1, reach) - max(x0, -reach) for x0, x1 in vent.bays)
    high = vent.section.ceiling_mm - vent.section.sill[1]
    assert screen.window_mm2(vent.section, vent.bays) == pytest.approx(across * high)
    # With snap arms the cavity is narrower than that.
    snapped = spec(size="80x60", screen_mm=1.0, fixing="snap")
    assert snapped.body.screen is not None
    clear = sum(b - a for a, b in snapped.bays)
    high = snapped.section.ceiling_mm - snapped.section.sill[1]
    assert snapped.body.screen.window_mm2(snapped.section, snapped.bays) == pytest.approx(
        clear * high
    )
