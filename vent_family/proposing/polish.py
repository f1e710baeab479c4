"""The neighbours of what a search found: one knob turned at a time, as far as that helps.

An evolutionary search comes near the best rows and stops short of them; a few steps along each knob
go the rest of the way.
"""

from __future__ import annotations

from collections.abc import Callable

from vent_family.proposing.search import AIMS, Found, Judge, Wetted, aims_of, front_of
from vent_family.proposing.space import Genes, RowSpace


def neighbours(space: RowSpace, genes: Genes, reach: int = 2) -> list[Genes]:
    """Return the candidates that differ from one in one knob, by up to ``reach`` places.

    Of knobs whose values have no order all others are tried.

    Examples
    --------
    >>> from vent_family.proposing.requirement import requirement_of
    >>> from vent_family.proposing.space import space_of
    >>> ladders = {"pitch_mm": (None, 6.0, 7.0, 8.0), "slat_form": ("flat", "folded")}
    >>> asked = requirement_of({"opening": {"size": "M50x1.5"}, "order": {
    ...     "print_orientation": "face_down"}})
    >>> space = space_of(asked, ladders)
    >>> [k.name for k in space.knobs]
    ['opening', 'material', 'print_orientation', 'pitch_mm', 'slat_form', 'head_diameter_mm']
    >>> [space.row(g).pitch_mm for g in neighbours(space, (0, 0, 0, 2, 0, 0), reach=1)][:3]
    [None, 6.0, 8.0]
    """
    found = []
    for i, knob in enumerate(space.knobs):
        ordered = knob.ordered
        for place in range(len(knob.values)):
            near = not ordered or place == 0 or abs(place - genes[i]) <= reach
            if place != genes[i] and near:
                found.append((*genes[:i], place, *genes[i + 1 :]))
    return found


def polished(
    space: RowSpace,
    found: Found,
    judge: Judge,
    wetted: Wetted,
    *,
    rounds: int,
    wet: int,
    told: Callable[[Found], None] = lambda found: None,
) -> None:
    """Try the neighbours of the best rows by each aim, and of these in turn.

    Parameters
    ----------
    space
        the rows that are open
    found
        what was met; what is tried is added
    judge, wetted
        take rows up the ladder
    rounds
        how often it is begun anew from what is best then
    wet
        rows that meet water for one aim in a round, at most
    told
        told after every round; may raise to end
    """
    for _ in range(rounds):
        front = front_of(found.done)
        for k, name in enumerate(AIMS):
            if not any(getattr(c.figures, name) for c in front):
                continue  # nothing is asked, or nothing passes
            best = min(front, key=lambda c: (aims_of(c.figures)[k], aims_of(c.figures)))
            tried = found.draw(space, neighbours(space, found.genes[best.row]), judge)
            waiting = [c for c in dict.fromkeys(tried) if c.kept and not c.done]
            nearer = [c for c in waiting if aims_of(c.figures)[k] <= aims_of(best.figures)[k]]
            nearer.sort(key=lambda c: (aims_of(c.figures)[k], aims_of(c.figures)))
            found.keep(wetted(nearer[:wet]))
        told(found)
        if front_of(found.done) == front:
            return
