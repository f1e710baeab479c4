"""From a row to cheaper ones around it: knobs turned one at a time and several at once.

Only the price leads. Water is dear to predict, so that of each round a few rows meet it, cheapest
first; rows that go farther the way on which another one let water in come last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.proposing.around import Around
from vent_family.proposing.crew import Crew
from vent_family.proposing.ladder import RUNGS, Candidate, price_of
from vent_family.proposing.polish import neighbours
from vent_family.proposing.search import Found
from vent_family.proposing.space import Genes


@dataclass(frozen=True, slots=True)
class Descent:
    """How much is tried: rounds, places a knob is turned by, rows with several knobs turned, and
    rows mixed of others.

    ``wet`` rows meet water in a round, ``at_once`` at a time; ``ends`` are taken to the end.
    """

    rounds: int = 24
    reach: int = 3
    several: int = 80
    mixed: int = 80
    wet: int = 12
    at_once: int = 3
    ends: int = 6


USUAL: Final = Descent()
"""What is tried unless somebody asks for more or less."""
_IN_VAIN: Final = 3
"""Rounds without a cheaper row after which there is none to be found."""


def descended(
    space: Around,
    found: Found,
    crew: Crew,
    *,
    effort: Descent = USUAL,
    seed: int = 1,
    told: Callable[[int], None] = lambda rounds: None,
) -> None:
    """Go from a row to cheaper ones that keep all constraints, as long as there are any.

    Parameters
    ----------
    space
        the rows around it
    found
        where what is met is kept
    crew
        who judges them
    effort
        how much is tried
    seed
        the number from which all chance follows
    told
        told after every round, which it was; may raise to end the search
    """
    chance = np.random.default_rng(seed)
    (best,) = found.draw(space, [space.home], crew.judge)
    leaks: list[Genes] = []
    in_vain = 0
    for number in range(effort.rounds):
        here = found.genes[best.row]
        singles = _singles(space, here, effort.reach)
        tried = found.draw(space, singles, crew.judge)
        several = _several(here, singles, tried, best, effort.several, chance)
        tried += found.draw(space, several, crew.judge)
        mixed = _mixed(space, found, here, effort.mixed, chance)
        tried += found.draw(space, mixed, crew.judge)
        cheaper = [c for c in dict.fromkeys(tried) if c.kept and price_of(c) < price_of(best)]
        known = min((c for c in cheaper if _ended(c)), key=price_of, default=best)
        waiting = [c for c in cheaper if not _ended(c) and price_of(c) < price_of(known)]
        waiting.sort(key=lambda c: (_beyond(found.genes[c.row], leaks, space.home), price_of(c)))
        next_ = _driest(waiting[: effort.wet], effort.at_once, found, crew, leaks) or known
        in_vain = in_vain + 1 if next_ is best else 0
        best = next_
        told(number + 1)
        if in_vain == _IN_VAIN:
            break
    _undone(space, found, crew, best)


def _singles(space: Around, here: Genes, reach: int) -> list[Genes]:
    """Return the neighbours of a row, and the row with each cell put back as it is today."""
    back = [(*here[:i], now, *here[i + 1 :]) for i, now in enumerate(space.home) if here[i] != now]
    return list(dict.fromkeys([*neighbours(space, here, reach), *back]))


def _several(
    here: Genes,
    singles: Sequence[Genes],
    tried: Sequence[Candidate],
    best: Candidate,
    most: int,
    chance: np.random.Generator,
) -> list[Genes]:
    """Return rows with two or three knobs turned at once.

    Every other one begins with a turn that makes the row cheaper, whether it then keeps the rest or
    not; of the others any turns meet: what one spoils another one may mend.
    """
    turns = [_turn(here, genes) for genes in singles]
    gains = [t for t, c in zip(turns, tried, strict=True) if price_of(c) < price_of(best)] or turns
    found = []
    for n in range(most if turns else 0):
        firsts = gains if n % 2 else turns
        seconds = gains if n % 4 == 1 else turns
        picked = [firsts[int(chance.integers(len(firsts)))]]
        picked += [
            seconds[int(chance.integers(len(seconds)))] for _ in range(1 + int(chance.integers(2)))
        ]
        found.append(_turned(here, picked))
    return [genes for genes in dict.fromkeys(found) if genes != here]


def _mixed(
    space: Around, found: Found, here: Genes, most: int, chance: np.random.Generator
) -> list[Genes]:
    """Return a row with the turns of two others on top, and in half of them one knob more turned.

    Of the two at least one just falls short of something, or costs a little more: what the one
    spoils the other may mend.
    """
    good = sorted((c for c in found.met.values() if c.kept), key=price_of)[:_PARENTS]
    near = sorted((c for c in found.met.values() if _near(c)), key=_short)[: 2 * _PARENTS]
    parents = [found.genes[c.row] for c in near] or [here]
    others = [found.genes[c.row] for c in good] or parents
    counts = [len(knob.values) for knob in space.knobs]
    mixed = []
    for n in range(most):
        child = np.array(here)
        for pool in (parents, others if n % 4 < 2 else parents):
            genes = np.array(pool[int(chance.integers(len(pool)))])
            taken = (genes != np.array(here)) & (chance.random(len(genes)) < _TAKEN)
            child = np.where(taken, genes, child)
        if n % 2:
            knob = int(chance.integers(len(counts)))
            turned = child[knob] + int(chance.integers(-_FAR, _FAR + 1))
            child[knob] = min(max(turned, 0), counts[knob] - 1)
        mixed.append(tuple(int(g) for g in child))
    return list(dict.fromkeys(mixed))


def _short(candidate: Candidate) -> float:
    """Return by which share a candidate falls short."""
    return -min((m.share for m in candidate.margins), default=0.0)


def _near(candidate: Candidate) -> bool:
    """Return whether a candidate falls short of air, price or strength, and by little."""
    return not candidate.kept and candidate.rung in _MENDED and _short(candidate) < _LITTLE_SHORT


_MENDED: Final = ("air", "price", "strength")
_LITTLE_SHORT: Final = 0.06
"""Share by which a row falls short that another turn may mend."""
_TAKEN: Final = 0.8
"""Share of another row's turns that are taken."""
_PARENTS: Final = 16
"""Rows whose turns are mixed."""
_FAR: Final = 4
"""Places by which a knob of a mixed row is turned, at most."""


def _turn(here: Genes, genes: Genes) -> tuple[int, int]:
    """Return the knob in which two candidates differ, and the place it is turned to."""
    return next((i, g) for i, (g, now) in enumerate(zip(genes, here, strict=True)) if g != now)


def _turned(here: Genes, turns: Iterable[tuple[int, int]]) -> Genes:
    genes = list(here)
    for knob, place in turns:
        genes[knob] = place
    return tuple(genes)


def _beyond(genes: Genes, leaks: Sequence[Genes], home: Genes) -> bool:
    """Return whether a row goes as far from today's as one that let water in, or farther.

    Examples
    --------
    >>> _beyond((3, 5), [(3, 4)], home=(2, 3)), _beyond((3, 3), [(3, 4)], home=(2, 3))
    (True, False)
    """
    return any(
        all(
            (g - h) * (leak - h) > 0 and abs(g - h) >= abs(leak - h)
            for g, leak, h in zip(genes, leaks_at, home, strict=True)
            if leak != h
        )
        for leaks_at in leaks
    )


def _driest(
    waiting: Sequence[Candidate],
    at_once: int,
    found: Found,
    crew: Crew,
    leaks: list[Genes],
) -> Candidate | None:
    """Let rows meet water, a few at a time, until one does what is asked; return the cheapest.

    Those that hold with the first drops meet all of them: the search must not go on from one that
    lets more in than the first drops tell.
    """
    for i in range(0, len(waiting), at_once):
        met = crew.wet(waiting[i : i + at_once])
        found.keep(met)
        leaks += [found.genes[c.row] for c in met if not c.done]
        for good in sorted((c for c in met if c.done), key=price_of):
            (ended,) = crew.to_the_end([good])
            found.keep([ended])
            if ended.kept:
                return ended
            leaks.append(found.genes[ended.row])
    return None


def _ended(candidate: Candidate) -> bool:
    """Return whether a row has met all drops and keeps everything."""
    return candidate.kept and candidate.rung == RUNGS[-1]


_LITTLE: Final = 1e-3
"""A cell that saves less than this share of the price is put back."""


def _undone(space: Around, found: Found, crew: Crew, best: Candidate) -> None:
    """Put cells back as they are today that hardly save anything: every change is to be read."""
    for i, now in enumerate(space.home):
        here = found.genes[best.row]
        if here[i] == now:
            continue
        back = (*here[:i], now, *here[i + 1 :])
        (tried,) = found.draw(space, [back], crew.judge)
        if not tried.kept or price_of(tried) > (1.0 + _LITTLE) * price_of(best):
            continue
        (tried,) = crew.to_the_end([tried])
        found.keep([tried])
        if tried.kept:
            best = tried
