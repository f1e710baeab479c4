"""A moulded part as it stands in the record, and in words."""

from __future__ import annotations

from typing import Annotated, Final

from vent_family.base.frozen import Frozen
from vent_family.evidence.cost.mould.draw import Draw
from vent_family.evidence.cost.mould.moulding import MouldedPiece, Moulding
from vent_family.evidence.facts import Fact, TableColumn, table


class UndercutRecord(Frozen):
    """What a mould of two halves that opens along an axis does not form."""

    opening: Annotated[str, Fact("axis along which the mould opens")]
    area_mm2: Annotated[float, Fact("surface that neither half forms", "mm2")]
    mostly: Annotated[list[str], Fact("regions of the surface that are caught, largest first")]


class PieceRecord(Frozen):
    """One moulded piece of the part; money in the currency of the costs."""

    name: Annotated[str, Fact("what it is", column=TableColumn("piece"))]
    count: Annotated[int, Fact("how many go into a part", column=TableColumn("in a part"))]
    leaves_mould: Annotated[str, Fact("how it comes out", column=TableColumn("leaves the mould"))]
    slides: Annotated[int, Fact("side slides of its cavity")]
    unscrewed: Annotated[bool, Fact("a core turns out of its thread")]
    undercut_mm2: Annotated[float, Fact("what even slides do not free", "mm2")]
    mass_g: Annotated[float, Fact("mass of one", "g", column=TableColumn("g", ".1f"))]
    wall_mm: Annotated[float, Fact("thickest wall", "mm", column=TableColumn("wall mm", ".1f"))]
    cycle_s: Annotated[float, Fact("time of a shot", "s", column=TableColumn("shot s", ".0f"))]
    cavity: Annotated[float, Fact("its cavity", "money", column=TableColumn("cavity", ".0f"))]
    cost: Annotated[float, Fact("resin and machine", "money", column=TableColumn("cost", ".2f"))]


class MouldingRecord(Frozen):
    """The part moulded and put together; money in the currency of the costs."""

    pieces: Annotated[list[PieceRecord], Fact("the pieces it takes")]
    undercuts: Annotated[list[UndercutRecord], Fact("why, by way of opening")]
    joints: Annotated[int, Fact("pieces put in and fastened; each is a seam for water")]
    one_tool: Annotated[bool, Fact("one tool moulds all pieces in a shot")]
    tool: Annotated[float, Fact("all tools", "money")]
    setup: Annotated[float, Fact("setting up, for each order", "money")]
    assembly: Annotated[float, Fact("putting a part together", "money")]
    piece: Annotated[float, Fact("an assembled part without tools and setup", "money")]
    break_even_parts: Annotated[int | None, Fact("parts from which it pays; null: never")]


MOSTLY: Final = 3
"""So many regions are named of an undercut."""


def moulding_record(moulding: Moulding, break_even_parts: int | None) -> MouldingRecord:
    """Return what the record says of a moulded part."""
    return MouldingRecord(
        pieces=[_piece(p) for p in moulding.pieces],
        undercuts=[
            UndercutRecord(
                opening=u.axis,
                area_mm2=u.area_mm2,
                mostly=[name for name, _ in u.regions[:MOSTLY]],
            )
            for u in moulding.undercuts
        ],
        joints=moulding.joint_count,
        one_tool=moulding.family,
        tool=moulding.tool,
        setup=moulding.setup,
        assembly=moulding.assembly,
        piece=moulding.piece,
        break_even_parts=break_even_parts,
    )


def _piece(piece: MouldedPiece) -> PieceRecord:
    return PieceRecord(
        name=piece.name,
        count=piece.count,
        leaves_mould=draw_words(piece.draw),
        slides=len(piece.draw.slides),
        unscrewed=piece.draw.unscrewed,
        undercut_mm2=piece.draw.left_mm2,
        mass_g=piece.mass_g,
        wall_mm=piece.wall_mm,
        cycle_s=piece.cycle_s,
        cavity=piece.cavity,
        cost=piece.cost,
    )


def draw_words(draw: Draw) -> str:
    """Return in words how a piece leaves its mould.

    Examples
    --------
    >>> draw_words(Draw("z"))
    'along z'
    >>> draw_words(Draw("z", ("+x", "-x"), unscrewed=True))
    'along z, slides +x -x, core unscrewed'
    >>> draw_words(Draw("z", lean_deg=-45.0, left_mm2=120.0, left_in=("shell",)))
    'along z leaned by -45 deg, lifters for shell'
    """
    words = f"along {draw.axis}"
    if draw.lean_deg:
        words += f" leaned by {draw.lean_deg:g} deg"
    if draw.slides:
        words += f", slides {' '.join(draw.slides)}"
    if draw.unscrewed:
        words += ", core unscrewed"
    if draw.left_in:
        words += f", lifters for {' and '.join(draw.left_in)}"
    return words


def moulding_lines(made: MouldingRecord) -> list[str]:
    """Return the part of the report on moulding, formulas shown."""
    even = made.break_even_parts
    pays = "It never pays." if even is None else f"It pays from {even:,} parts on."
    count = sum(p.count for p in made.pieces)
    tools = "one tool for all" if made.one_tool else "a tool for each"
    best = min(made.undercuts, key=lambda u: u.area_mm2)
    first = f"Moulded: {count} piece{'s' if count > 1 else ''}."
    if count > 1:
        first += (
            f" In one, {best.area_mm2:,.0f} mm2 of its surface ({', '.join(best.mostly)}) would be"
            f" caught even in a mould that opens along {best.opening}."
        )
    seams = ""
    if made.joints:
        ends = "s" if made.joints > 1 else ""
        seams = (
            f" Its {made.joints} joint{ends} must be welded or sealed: each is a seam on the"
            " water's way. Rings narrow the opening, which is not counted here."
        )
    return [
        first,
        "",
        *table(made.pieces, PieceRecord),
        "",
        f"Tools {made.tool:,.0f} ({tools}), setup {made.setup:.0f} an order; a part"
        f" {made.piece:.2f}, of which {made.assembly:.2f} is putting it together."
        f" N parts cost (tools + setup) / N + that each. {pays}{seams}",
    ]
