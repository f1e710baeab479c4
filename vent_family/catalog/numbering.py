"""A part number for a new row: in the way the file numbers its parts, and free."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import NAME_MOST, CatalogRow
from vent_family.catalog.names import collisions, name_fault
from vent_family.catalog.parse.cells import damage
from vent_family.catalog.parse.table import RawTable

_VARIANTS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Letters that tell variants apart: without I and O, which look like 1 and 0."""
_ALIKE: Final = str.maketrans({"o": "0", "i": "1", "l": "1", "-": "", "_": "", ".": ""})
_NUMBER: Final = re.compile(r"[0-9]+")
_PLAIN_STEM: Final = "VENT-"


def taken_numbers(table: RawTable) -> frozenset[str]:
    """Return the part numbers that a file uses: of good and bad rows, and named as opposite."""
    columns = ("part_number", "opposite_vent")
    cells = {row.cells.get(column, "") for row in table.rows for column in columns}
    told = {problem.part_number for problem in table.problems}
    return frozenset((cells | told) - {""})


def free_part_number(taken: Collection[str], like: str) -> str:
    """Return a part number that is free: the one wished for, or the nearest one after it.

    It is a sound file name that meets no file of another part, also on disks that take no notice of
    case; no spreadsheet makes a date or number of it; and no taken number differs from it only by
    what is easily mistaken: case, hyphens, dots and underscores, O for 0, I or l for 1.

    Parameters
    ----------
    taken
        part numbers of the catalogue, and of all parts ever released
    like
        the number that is wished for; a letter is put behind its last digit, or a number behind its
        last letter

    Raises
    ------
    ValueError
        if nothing of the wish can stand in a part number

    Examples
    --------
    >>> free_part_number(["HV-R120"], "HV-R160"), free_part_number(["HV-R160"], "HV-R160")
    ('HV-R160', 'HV-R160A')
    >>> free_part_number(["hv_r160w"], "HV-R160W"), free_part_number([], "Gehäuse 12")
    ('HV-R160W-2', 'Geh-use-12')
    """
    stem = re.sub(r"[^A-Za-z0-9._-]+", "-", like).strip("-._")
    if not stem:
        raise ValueError(f"no part number can be made of {like!r}")
    looks = {_look(number) for number in taken}
    known = [number for number in taken if name_fault(number) is None]
    clashes = set(collisions(list(enumerate(known))))
    return next(
        candidate
        for candidate in _candidates(stem)
        if _look(candidate) not in looks
        and _is_sound(candidate)
        and set(collisions(list(enumerate([*known, candidate])))) == clashes
    )


def wished_part_number(rows: Iterable[CatalogRow], family: str, size: str) -> str:
    """Return a part number in the way that a catalogue numbers its parts, whether free or not.

    Where most parts of the family, or else of the others, carry their width or thread in their
    number, so does the new one; where they are numbered one after the other, it is the next.

    Examples
    --------
    >>> def row(number, family, size):
    ...     return CatalogRow(part_number=number, family=family, size=size, status="draft")
    >>> rows = [row("HV-R080", "rectangular", "80x60"), row("HV-N20", "round", "M20x1.5")]
    >>> wished_part_number(rows, "rectangular", "160x120")
    'HV-R160'
    >>> wished_part_number(rows, "round", "M32x1.5"), wished_part_number([], "round", "M32x1.5")
    ('HV-N32', 'VENT-M32')
    >>> wished_part_number([row("T-009", "round", "M20x1.5")], "round", "M20x1.5")
    'T-010'
    """
    every = list(rows)
    same = [row for row in every if row.family == family]
    for some in (same, every):
        sized = [habit for row in some for habit in _sized(row)]
        if sized and 2 * len(sized) >= len(some):
            stem, digits = _usual(sized)
            if some is not same:
                # Of another family only what stands in front of its letter is taken over.
                stem = re.sub(r"[A-Za-z]$", family[0].upper(), stem)
            return f"{stem}{_width(size):0{digits}d}"
        running = [habit for row in some for habit in _running(row)]
        if running:
            stem, digits = _usual(running)
            last = max(h.value for row in every for h in _running(row) if h.stem == stem)
            return f"{stem}{last + 1:0{digits}d}"
    return _PLAIN_STEM + size.partition("x1.5")[0]


@dataclass(frozen=True, slots=True)
class _Habit:
    """What stands in a part number before the digits that count, and the digits."""

    stem: str
    digits: str

    @property
    def value(self) -> int:
        """The number that the digits are."""
        return int(self.digits)


def _sized(row: CatalogRow) -> list[_Habit]:
    """Return how a part number carries the row's size; empty where it does not."""
    width = _width(row.size)
    found = [m for m in _NUMBER.finditer(row.part_number) if int(m.group()) == width]
    return [_Habit(row.part_number[: m.start()], m.group()) for m in found[-1:]]


def _running(row: CatalogRow) -> list[_Habit]:
    """Return how a part number ends in digits; empty where it does not."""
    found = re.fullmatch(r"(.*?)([0-9]+)", row.part_number)
    return [_Habit(found.group(1), found.group(2))] if found else []


def _width(size: str) -> int:
    """Return the thread's diameter, or the width of the opening, in whole mm."""
    return int(float(size.removeprefix("M").partition("x")[0]))


def _usual(habits: Sequence[_Habit]) -> tuple[str, int]:
    """Return the stem that comes most often, and to how many digits its numbers are filled up."""
    stem = Counter(habit.stem for habit in habits).most_common(1)[0][0]
    digits = [habit.digits for habit in habits if habit.stem == stem]
    filled = [len(d) for d in digits if d.startswith("0")]
    if filled:
        return stem, max(filled)
    lengths = {len(d) for d in digits}
    return stem, lengths.pop() if len(digits) > 1 and len(lengths) == 1 else 0


def _candidates(stem: str) -> Iterator[str]:
    yield _shortened(stem, "")
    ends = [*_VARIANTS] if stem[-1].isdigit() else []
    number = 2
    while True:
        for end in ends:
            yield _shortened(stem, end)
        ends = [f"-{number}"]
        number += 1


def _shortened(stem: str, end: str) -> str:
    """Return a stem with an end, cut so that both are a part number of allowed length."""
    return stem[: NAME_MOST - len(end)].rstrip("-._") + end


def _is_sound(number: str) -> bool:
    return name_fault(number) is None and damage(number, COLUMNS["part_number"]) is None


def _look(number: str) -> str:
    """Return what a part number looks like to a hasty eye."""
    return number.casefold().translate(_ALIKE)
