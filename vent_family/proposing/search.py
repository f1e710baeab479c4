"""The search for rows that do what is asked: an evolutionary search with the ladder as its judge.

Rows that fall short compare by how much, rows that do not by price, warmth, depth and water that
passes, none of them weighed against another (NSGA-II: Deb et al. 2002, as pymoo has it). Drops are
dear, so that of each generation only the rows that could still be chosen meet water: those first
that are not surpassed in price, warmth and depth. What has been judged once is kept.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.crossover import Crossover
from pymoo.core.evaluator import Evaluator
from pymoo.core.mutation import Mutation
from pymoo.core.problem import Problem as SearchProblem
from pymoo.problems.static import StaticProblem
from pymoo.util.nds.non_dominated_sorting import NonDominatedSorting

from vent_family.base.arrays import IntArray
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.ladder import RUNGS, SEARCHED, Candidate, Figures, lack_at
from vent_family.proposing.space import Genes, RowSpace

Sift = Callable[[Sequence[CatalogRow]], Sequence[bool]]
"""Tells of rows which certainly break a rule."""
Judge = Callable[[Sequence[CatalogRow]], Sequence[Candidate]]
"""Takes rows up to the strength rung."""
Wetted = Callable[[Sequence[Candidate]], Sequence[Candidate]]
"""Takes candidates on to water."""
AIMS: Final = ("price", "rise_k", "depth_mm", "passed_ml")
"""Figures of which less is better."""


@dataclass(frozen=True, slots=True)
class SearchEffort:
    """How much is tried.

    So many rows are ``drawn`` by chance, of which as many as ``begun`` are judged and the best are
    the first generation; then ``rows`` in each of the ``generations``, of which at most ``wetted``
    meet water.
    """

    rows: int = 64
    generations: int = 20
    wetted: int = 16
    drawn: int = 12000
    begun: int = 256


EFFORT: Final = SearchEffort()
"""What is tried unless somebody asks for more or less."""


@dataclass
class Found:
    """What a search has met, and how many rows came how far.

    ``met`` holds every row that was judged, ``genes`` the first genes that gave it; ``drawn``
    counts rows that were drawn, alike ones each time, ``sifted`` those of them that certainly break
    a rule and were not judged.
    """

    met: dict[CatalogRow, Candidate] = field(default_factory=dict)
    genes: dict[CatalogRow, Genes] = field(default_factory=dict)
    drawn: int = 0
    sifted: int = 0

    def draw(
        self, space: RowSpace, drawn: Iterable[Sequence[int]], judge: Judge
    ) -> list[Candidate]:
        """Return what is known of candidates of a space; new rows are judged."""
        rows = []
        for genes in drawn:
            rows.append(space.row(genes))
            self.genes.setdefault(rows[-1], tuple(int(g) for g in genes))
        self.drawn += len(rows)
        self.keep(judge([row for row in dict.fromkeys(rows) if row not in self.met]))
        return [self.met[row] for row in rows]

    def keep(self, candidates: Iterable[Candidate]) -> None:
        """Keep what was found out about rows."""
        self.met |= {candidate.row: candidate for candidate in candidates}

    def reach(self, candidates: Iterable[Candidate]) -> bool:
        """Keep rows drawn beside the space, unless they were known to come farther.

        Returns whether any of them came farther than was known.
        """
        news = False
        for candidate in candidates:
            before = self.met.get(candidate.row)
            farther = before is None or RUNGS.index(candidate.rung) > RUNGS.index(before.rung)
            if farther:
                self.met[candidate.row] = candidate
            self.drawn += before is None
            news |= farther
        return news

    @property
    def done(self) -> tuple[Candidate, ...]:
        """The rows that do what is asked."""
        return tuple(c for c in self.met.values() if c.done)

    @property
    def ended(self) -> tuple[Candidate, ...]:
        """Those of them that were taken to the end."""
        return tuple(c for c in self.met.values() if c.kept and c.rung == RUNGS[-1])

    @property
    def reached(self) -> dict[str, int]:
        """How many rows came to each rung."""
        last = Counter(RUNGS.index(c.rung) for c in self.met.values())
        return {r: sum(n for i, n in last.items() if i >= k) for k, r in enumerate(RUNGS)}

    def front(self) -> tuple[Candidate, ...]:
        """Return the rows that do what is asked and that no other one surpasses, cheapest first."""
        return front_of(self.done)


def aims_of(figures: Figures) -> tuple[float, ...]:
    """Return the figures of which less is better: money, K, mm, mL; 0 for what is not asked."""
    return tuple(getattr(figures, name) or 0.0 for name in AIMS)


def front_of(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return the candidates that no other one surpasses, cheapest first; of equal ones the first.

    Examples
    --------
    >>> front_of(())
    ()
    """
    if not candidates:
        return ()
    table = np.array([aims_of(c.figures) for c in candidates])
    _, first = np.unique(table, axis=0, return_index=True)
    kept = sorted(first)
    best = NonDominatedSorting().do(table[kept], only_non_dominated_front=True)
    found = [candidates[kept[i]] for i in best]
    return tuple(sorted(found, key=lambda c: aims_of(c.figures)))


def search(
    space: RowSpace,
    sift: Sift,
    judge: Judge,
    wetted: Wetted,
    *,
    seeds: Iterable[Genes] = (),
    effort: SearchEffort = EFFORT,
    seed: int = 1,
    told: Callable[[Found, int], None] = lambda found, generation: None,
    found: Found | None = None,
) -> Found:
    """Return what a search meets.

    Parameters
    ----------
    space
        the rows that are open
    sift
        tells which rows certainly break a rule
    judge, wetted
        take rows up the ladder
    seeds
        rows to begin with
    effort
        how much is tried
    seed
        the number from which all chance follows
    told
        told after every generation, what has been met so far; may raise to end the search
    found
        where what is met is kept; a new one by default
    """
    found = Found() if found is None else found
    chance = np.random.default_rng(seed)
    first = _first(space, list(seeds), effort, chance, sift, judge, found)
    problem = _problem(space)
    algorithm = NSGA2(
        pop_size=effort.rows,
        sampling=first,
        crossover=_Mixed(),
        mutation=_Turned(space),
        eliminate_duplicates=True,
    )
    algorithm.setup(problem, termination=("n_gen", effort.generations), seed=seed, verbose=False)
    while algorithm.has_next():
        drawn = algorithm.ask()
        if drawn is None:
            break  # a small space, of which every row was drawn
        genes = drawn.get("X").astype(int)
        rows = [c.row for c in found.draw(space, genes, judge)]
        foreseen = _foreseen(space, found)
        found.keep(wetted(promising(foreseen, found.done, effort.wetted)))
        values = [_values(found.met[row], foreseen) for row in rows]
        answer = {"F": np.array([f for f, _ in values]), "G": np.array([[g] for _, g in values])}
        Evaluator().eval(StaticProblem(problem, **answer), drawn)
        algorithm.tell(infills=drawn)
        told(found, algorithm.n_gen - 1)
    return found


def promising(
    foreseen: Mapping[Candidate, float], done: Sequence[Candidate], most: int
) -> list[Candidate]:
    """Return up to ``most`` candidates that are to meet water next.

    Those first of which least lack is ``foreseen``, by tenths; then those that fewest others
    surpass in price, warmth and depth, whether these wait or are done.
    """
    waiting = list(foreseen)
    if not waiting:
        return []
    table = np.array([aims_of(c.figures)[:3] for c in (*waiting, *done)])
    own = table[: len(waiting)]
    surpassed = [
        int((np.all(table <= row, axis=1) & np.any(table < row, axis=1)).sum()) for row in own
    ]
    order = sorted(
        range(len(waiting)),
        key=lambda i: (round(foreseen[waiting[i]], 1), surpassed[i], tuple(own[i])),
    )
    return [waiting[i] for i in order[:most]]


_NEAR: Final = 1.0
"""Distance, in knobs turned from end to end, over which what one row lacks says much of another."""
_DOUBT: Final = 0.2
"""Weight of knowing nothing: so far from all that met water a row may well hold."""


def _foreseen(space: RowSpace, found: Found) -> dict[Candidate, float]:
    """Return the rows that have yet to meet water with what each is likely to lack there.

    That is the mean of what those lacked that met water, by how near they are.
    """
    waiting = [c for c in found.met.values() if c.kept and not c.done]
    known = [c for c in found.met.values() if RUNGS.index(c.rung) >= RUNGS.index(SEARCHED)]
    if not waiting or not known:
        return dict.fromkeys(waiting, 0.0)
    mine, theirs = (
        np.array([found.genes[c.row] for c in rows], dtype=float) for rows in (waiting, known)
    )
    counts = np.array([len(k.values) for k in space.knobs])
    words = np.array([not k.ordered for k in space.knobs])
    turned = np.abs(mine[:, None, :] - theirs[None, :, :])
    turned = np.where(words, turned > 0.0, turned / np.maximum(counts - 1, 1))
    weights = np.exp(-((turned.sum(axis=2) / _NEAR) ** 2))
    lacks = np.array([min(c.lack, 1.0) for c in known])
    mean = weights @ lacks / (weights.sum(axis=1) + _DOUBT)
    return dict(zip(waiting, mean.tolist(), strict=True))


_UNWETTED: Final = lack_at(SEARCHED, 0.0) / 2.0
"""Lack of a row that has yet to meet water: less than that of one that failed there."""


def _values(
    candidate: Candidate, foreseen: Mapping[Candidate, float]
) -> tuple[tuple[float, ...], float]:
    """Return what is to be made small, and what must not be above zero."""
    lack = candidate.lack
    if candidate.kept and not candidate.done:
        lack = max(_UNWETTED, foreseen.get(candidate, 0.0))
    return aims_of(candidate.figures), lack


def _problem(space: RowSpace) -> SearchProblem:
    return SearchProblem(
        n_var=len(space.knobs),
        n_obj=len(AIMS),
        n_ieq_constr=1,
        xl=np.zeros(len(space.knobs), dtype=int),
        xu=np.array([len(k.values) - 1 for k in space.knobs]),
        vtype=int,
    )


_BLANK: Final = 0.6
"""Share of the knobs that are left at their first value in rows drawn by chance."""


def _first(
    space: RowSpace,
    seeds: Sequence[Genes],
    effort: SearchEffort,
    chance: np.random.Generator,
    sift: Sift,
    judge: Judge,
    found: Found,
) -> IntArray:
    """Return the first generation: the best of the seeds, and of rows drawn by chance.

    Rows drawn are near what is usual. Of those that may be sound, forms and numbers of banks are
    judged by turns.
    """
    counts = np.array([len(k.values) for k in space.knobs])
    most = min(effort.drawn, math.ceil(2.0 * space.size))
    drawn = chance.integers(0, counts, size=(most, len(counts)))
    usual = chance.random(drawn.shape) < _BLANK
    drawn[usual & _may_be_blank(space)] = 0
    genes = list(dict.fromkeys(tuple(int(x) for x in g) for g in drawn))
    refused = sift([space.row(g) for g in genes])
    found.drawn += len(genes)
    found.sifted += sum(refused)
    sound = [g for g, bad in zip(genes, refused, strict=True) if not bad]
    chosen = list(dict.fromkeys([*seeds, *_by_turns(space, sound)]))[: len(seeds) + effort.begun]
    met = dict(zip(chosen, found.draw(space, chosen, judge), strict=True))
    found.drawn -= len(chosen) - len(seeds)  # they were counted as drawn by chance
    kept = {c: 0.0 for c in met.values() if c.kept}
    best = {c.row: i for i, c in enumerate(promising(kept, (), len(kept)))}
    order = sorted(met, key=lambda g: (best.get(met[g].row, len(best)), met[g].lack))
    return np.array(order[: effort.rows], dtype=int).reshape(-1, len(counts))


def _by_turns(space: RowSpace, genes: Sequence[Genes]) -> list[Genes]:
    """Return candidates so that those of each pairing of what most decides come by turns."""
    places = [space.places[name] for name in _DECIDING if name in space.places]
    turn: Counter[Genes] = Counter()
    keyed = []
    for n, g in enumerate(genes):
        kind = tuple(g[i] for i in places)
        keyed.append((turn[kind], n, g))
        turn[kind] += 1
    return [g for _, _, g in sorted(keyed)]


_DECIDING: Final = ("opening", "slat_form", "bank_count", "print_orientation", "banks_outside")
"""Knobs that decide most of what a row can be."""


def _may_be_blank(space: RowSpace) -> IntArray:
    return np.array([k.values[0] is None for k in space.knobs])


class _Mixed(Crossover):  # type: ignore[misc]
    """Each knob from the one or the other parent."""

    def __init__(self) -> None:
        super().__init__(2, 2)

    def _do(
        self,
        problem: SearchProblem,
        x: IntArray,
        *args: Any,
        random_state: Any = None,
        **kwargs: Any,
    ) -> IntArray:
        chance = random_state or np.random.default_rng()
        swap = chance.random(x.shape[1:]) < 0.5
        return np.stack([np.where(swap, x[1], x[0]), np.where(swap, x[0], x[1])])


class _Turned(Mutation):  # type: ignore[misc]
    """A few knobs turned: by a step or two, to blank, or to any value."""

    def __init__(self, space: RowSpace) -> None:
        super().__init__()
        self._blank = _may_be_blank(space)

    def _do(
        self,
        problem: SearchProblem,
        x: IntArray,
        *args: Any,
        random_state: Any = None,
        **kwargs: Any,
    ) -> IntArray:
        chance = random_state or np.random.default_rng()
        turned = chance.random(x.shape) < _TURNED / x.shape[1]
        steps = chance.integers(1, 3, x.shape) * chance.choice([-1, 1], x.shape)
        anywhere = chance.integers(0, problem.xu + 1, x.shape)
        how = chance.random(x.shape)
        moved = np.where(how < 0.55, x + steps, np.where(how < 0.7, x * ~self._blank, anywhere))
        return np.clip(np.where(turned, moved, x), problem.xl, problem.xu)


_TURNED: Final = 2.5
"""Knobs turned in a row on average."""
