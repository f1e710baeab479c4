"""The tool that is made from a record is the tool that the part's own geometry cuts with."""

from __future__ import annotations

import cadquery as cq
import pytest

from vent_family.enclosure.cutter import opening_cutter, piece_of_wall
from vent_family.front.parts import Parts
from vent_family.geometry.opening import opening_tool

TEXT = (
    "part_number,family,size,status,locating_key,step_thread\n"
    "V-40,rectangular,40x40,released,notch,\nV-N20,round,M20x1.5,released,notch,plain\n"
)


@pytest.fixture(scope="module")
def parts() -> Parts:
    return Parts.from_text(TEXT)


@pytest.mark.parametrize("number", ["V-40", "V-N20"])
def test_it_is_the_same_tool_with_its_notch(parts: Parts, number: str) -> None:
    room = parts.installation(number)
    mine = opening_cutter(room, 3.0)
    other = opening_tool(parts.spec(number), 3.0)
    assert mine.isValid()
    whole = sum(s.Volume() for s in other.Solids())
    assert sum(s.Volume() for s in mine.Solids()) == pytest.approx(whole, rel=1e-6)
    shared = sum(a.intersect(b).Volume() for a in mine.Solids() for b in other.Solids())
    assert shared == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize("number", ["V-40", "V-N20"])
def test_a_piece_of_wall_has_the_opening_and_reaches_beyond_the_cover(
    parts: Parts, number: str
) -> None:
    piece = piece_of_wall(parts.installation(number), 1.5)
    box, vent = piece.BoundingBox(), parts.vent(number).BoundingBox()
    assert (box.zmin, box.zmax) == pytest.approx((-1.5, 0.0))
    assert box.xmax - vent.xmax == pytest.approx(15.0, abs=0.06)
    assert box.ymax - vent.ymax == pytest.approx(15.0, abs=0.06)
    plain = cq.Solid.makeBox(box.xlen, box.ylen, 1.5)
    lost = plain.Volume() - piece.Volume()
    tool = sum(s.Volume() for s in opening_tool(parts.spec(number), 1.5).Solids())
    # The tool stands half a millimetre in front of the wall.
    assert lost == pytest.approx(tool * 1.5 / 2.0, rel=1e-6)


@pytest.mark.parametrize("depth", [0.0, -2.0, float("nan"), float("inf")])
def test_no_depth_is_refused(parts: Parts, depth: float) -> None:
    with pytest.raises(ValueError, match="a depth above zero"):
        opening_cutter(parts.installation("V-40"), depth)
