"""The same row printed the other way: resolved anew, or the rules that refuse it.

Face down and upright are two designs, not one solid turned: the lip, the mark, screw holes and
slats follow the way a part is printed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, get_args

from vent_family.catalog.model import Orientation
from vent_family.spec.changes import Change, applied, change_words
from vent_family.spec.refusals import Refusal
from vent_family.spec.resolve import refusals_of, resolved_or_none
from vent_family.spec.vent import VentSpec

WAYS: Final[tuple[Orientation, ...]] = get_args(Orientation)
_ROUNDS: Final = 3
"""Changes made one after the other, at most, until the row resolves."""


@dataclass(frozen=True)
class OtherWay:
    """A row's vent printed the other way.

    ``refused`` says why the row as it stands does not print that way, nothing where it does.
    ``change`` is what besides the orientation was changed so that it does; ``spec`` is ``None``
    where no such change is known.
    """

    print_orientation: Orientation
    spec: VentSpec | None
    refused: tuple[str, ...] = ()
    change: str = ""


def other_way(spec: VentSpec) -> OtherWay:
    """Return a vent's row resolved for the other orientation.

    Where a rule refuses it, the changes that the rule itself has computed are tried, those of the
    orientation left out.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> cells = {"part_number": "V", "status": "draft"}
    >>> other = other_way(resolve(CatalogRow(**cells, family="rectangular", size="60x60")))
    >>> other.print_orientation, other.spec.print_orientation, other.refused
    ('upright', 'upright', ())
    >>> row = CatalogRow(**cells, family="rectangular", size="60x60", locating_key="notch")
    >>> other_way(resolve(row)).change
    'set locating_key to none'
    >>> other = other_way(resolve(CatalogRow(**cells, family="flanged", size="60x60")))
    >>> other.spec is None, other.refused
    (True, ('a flanged vent does not print upright ...: its flange would hang over the bed',))
    """
    way = next(w for w in WAYS if w != spec.print_orientation)
    row = spec.row.model_copy(update={"print_orientation": way})
    refused: tuple[str, ...] = ()
    change: Change = {}
    for changes in range(_ROUNDS + 1):
        trial = applied(row, change)
        found = resolved_or_none(trial, spec.attached)
        if found is not None:
            return OtherWay(way, found, refused, change_words(change) if change else "")
        broken = refusals_of(trial)
        if changes == 0:
            refused = tuple(r.problem.message for r in broken)
        more = _own_changes(broken)
        if not more:
            break
        change = {**change, **more}
    return OtherWay(way, None, refused)


def _own_changes(broken: tuple[Refusal, ...]) -> Change:
    """Return the first change that each rule has computed itself and that keeps the orientation."""
    change: Change = {}
    for refusal in broken:
        kept = [g for g in refusal.guesses if "print_orientation" not in g]
        if not kept:
            return {}
        change = {**change, **kept[0]}
    return change
