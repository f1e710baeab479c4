"""A proposal in words, for a terminal: the catalogue first, then new rows, then what was tried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from vent_family.proposing.added import Added
from vent_family.proposing.ladder import RUNGS
from vent_family.proposing.told import KnownTold, OptionTold, ProposalTold

RUNG_WORDS: Final[Mapping[str, str]] = {
    "rules": "tried",
    "room": "can be laid out",
    "air": "have the room",
    "price": "stay cool",
    "strength": "keep to the price",
    "water": "are strong and met the first drops",
    "full": "met all drops",
}
"""What a row has behind it that comes to a rung, where water is met."""
DRY_WORDS: Final[Mapping[str, str]] = {"water": "are strong", "full": "were taken to the end"}
"""The same where none is."""

NONE_DOES: Final = "No new row does what is asked."


def proposal_lines(told: ProposalTold) -> Iterator[str]:
    """Yield a proposal line by line."""
    name = f"{told.requirement}: " if told.requirement else ""
    yield f"{name}{told.asked}. Prices: {told.rates}."
    if told.interrupted:
        yield "Interrupted: this is the best so far."
    yield ""
    yield from _known_lines(told)
    yield ""
    yield from _option_lines(told)
    for refused in told.refused:
        yield f"Its solid ruled out {_cells(refused.cells)}: {'; '.join(refused.failed)}."
    yield _tried(told)
    yield told.caution


def _known_lines(told: ProposalTold) -> Iterator[str]:
    if not told.known:
        yield "The catalogue has no part for this opening."
        return
    does = [k for k in told.known if k.does_it]
    yield "In the catalogue:" if does else "No part of the catalogue does it:"
    for known in told.known:
        yield f"  {_known(known)}"


def _known(known: KnownTold) -> str:
    draft = "" if known.status == "released" else f" ({known.status})"
    if not known.does_it:
        return f"{known.part_number}{draft} lacks: {'; '.join(known.lacks)}."
    assert known.figures is not None
    least = "" if known.binding is None else f". Least left: {known.binding.words}"
    return f"{known.part_number}{draft} does it already: {known.figures.words}{least}."


def _option_lines(told: ProposalTold) -> Iterator[str]:
    if not told.options:
        yield "No new row was found so far." if told.interrupted else NONE_DOES
        yield from _relaxed_lines(told)
        return
    yield "New rows:"
    for option in told.options:
        yield from _option(option)


def _relaxed_lines(told: ProposalTold) -> Iterator[str]:
    """Yield what would have to give, each entry alone; in one line which entries do not help."""
    helps = [r for r in told.relaxed if r.needed is not None]
    if helps:
        yield "What would have to give, each alone; less may do, too:"
        yield from (f"  {relaxed.words}." for relaxed in helps)
    others = [r.entry for r in told.relaxed if r.needed is None]
    if others:
        yield f"  Alone none of these helps: {', '.join(others)}."
    if told.nearest is not None and told.nearest.lacks:
        yield f"Of new rows came farthest: {told.nearest.words}."
        yield f"  It lacks: {'; '.join(told.nearest.lacks)}."


def _option(option: OptionTold) -> Iterator[str]:
    unsure = "" if option.confirmed else " (its solid was not built)"
    yield f"{option.number}. {', '.join(option.titles).capitalize()}{unsure}: {option.words}."
    yield f"   {option.figures.words}."
    if option.prices:
        prices = (f"{p.price:.2f} at {p.parts:,}" for p in option.prices)
        yield f"   Other orders: {', '.join(prices)}."
    yield f"   What binds: {option.binding.words}."
    yield f"   Cells: {_cells(option.cells)}."
    if option.why_not:
        yield "   Why not less:"
        yield from (f"     {near.words}." for near in option.why_not)


def _cells(cells: dict[str, str]) -> str:
    return ", ".join(f"{name} {text}" for name, text in cells.items())


def _tried(told: ProposalTold) -> str:
    tried = told.tried
    words = RUNG_WORDS if told.wet else {**RUNG_WORDS, **DRY_WORDS}
    steps = [f"{tried.reached[rung]:,} {words[rung]}" for rung in RUNGS]
    return (
        f"Rows: {', '.join(steps)}; {tried.front:,} of them no other surpasses"
        f" (seed {tried.seed}; {tried.drawn:,} drawn)."
    )


def added_lines(added: Added | None) -> Iterator[str]:
    """Yield what became of a row that was to be added to a catalogue; nothing where none was."""
    if added is None:
        return
    if added.columns_added:
        yield f"{added.file} lacked the columns {', '.join(added.columns_added)}."
    if added.row_number is not None:
        yield f"Added to {added.file} as {added.part_number}, a draft, in row {added.row_number}."
        return
    yield (
        f"Rows are not written into workbooks. Paste the row of {added.part_number} into"
        f" {added.file} so that its first cell is {added.cell}; below the names of the columns:"
    )
    yield from added.paste.splitlines()
