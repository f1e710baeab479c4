"""A response surface: what a quantity comes to over all inputs, from some draws of it.

A polynomial in the inputs' places in their ranges, of functions that are orthogonal there
(Legendre), so few of them that the draws can tell: the next is always the one that explains most of
what is left, and there are as many as leave the least error at fifths of the draws left out in turn
(sparse polynomial chaos, as Blatman and Sudret 2011, J. Comput. Phys. 230:2345, from memory). Draws
that none of this has seen say how far off it is.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray

Term = tuple[tuple[int, int], ...]
"""Inputs by number, each with its degree; none for the constant."""
DEGREE: Final = 3
"""Highest degree in one input; pairs of inputs have one each."""
TERMS_MOST: Final = 60
_DRAWS_A_TERM: Final = 3
"""At least so many draws for every term."""
_PARTS: Final = 5
_HAIR: Final = 1e-9


@dataclass(frozen=True, eq=False)
class Surface:
    """A fitted surface.

    ``weights`` of its ``terms`` are in the unit of the quantity; ``steps`` says which inputs have
    two values only.
    ``error`` is the root mean square of what it is off at draws it has not seen, in the quantity's
    unit, ``explained`` the share (1) of their variance that it explains: 1 for all, 0 or less for
    nothing.
    """

    terms: tuple[Term, ...]
    weights: FloatArray
    steps: tuple[bool, ...]
    error: float
    explained: float

    def at(self, places: FloatArray) -> FloatArray:
        """Return the quantity, in its unit, at places (1) in the inputs' ranges, (n, inputs)."""
        functions = _functions(places, self.steps)
        return np.asarray(_columns(functions, self.terms) @ self.weights)


def surface_through(
    places: FloatArray, values: FloatArray, held: int, steps: tuple[bool, ...]
) -> Surface:
    """Return the surface through draws, the last ``held`` of which only test it.

    Parameters
    ----------
    places
        places (1) of the draws in their inputs' ranges, (n, inputs)
    values
        what the quantity came to, (n,), any unit
    held
        how many draws at the end the surface does not see
    steps
        which inputs have two values and none between

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> u = rng.random((60, 3))
    >>> found = surface_through(u, 5.0 + 2.0 * u[:, 0] * u[:, 2], 20, (False, False, False))
    >>> found.error < 1e-9, round(float(found.at(np.array([[0.5, 0.1, 1.0]]))[0]), 6)
    (True, 6.0)
    """
    seen = len(values) - held
    functions = _functions(places, steps)
    own, y = functions[:, :seen], values[:seen]
    terms = _chosen(own, y, steps)
    columns = _columns(own, terms)
    weights = np.asarray(np.linalg.lstsq(columns, y, rcond=None)[0], dtype=float)
    off = values[seen:] - _columns(functions[:, seen:], terms) @ weights
    variance = float(np.var(values[seen:]))
    error = math.sqrt(float(np.mean(off**2)))
    explained = 1.0 - error**2 / variance if variance > 0.0 else 0.0
    return Surface(terms, weights, steps, error, explained)


def _functions(places: FloatArray, steps: tuple[bool, ...]) -> FloatArray:
    """Return the functions of one input, of mean square 1: (degree, n, inputs), degree from 0 on.

    An input with two values has one function, which is -1 or 1.
    """
    u = np.asarray(places, dtype=float)
    x = 2.0 * u - 1.0
    made = np.stack(
        [
            np.ones_like(x),
            math.sqrt(3.0) * x,
            math.sqrt(5.0) * 0.5 * (3.0 * x**2 - 1.0),
            math.sqrt(7.0) * 0.5 * (5.0 * x**3 - 3.0 * x),
        ]
    )
    two = np.array(steps, dtype=bool)
    made[1, :, two] = np.where(u < 0.5, -1.0, 1.0).T[two]
    made[2:, :, two] = 0.0
    return np.asarray(made)


def _columns(functions: FloatArray, terms: tuple[Term, ...]) -> FloatArray:
    """Return the terms' values, (n, terms)."""
    columns = np.ones((functions.shape[1], len(terms)))
    for k, term in enumerate(terms):
        for i, degree in term:
            columns[:, k] *= functions[degree, :, i]
    return columns


def _candidates(steps: tuple[bool, ...]) -> tuple[Term, ...]:
    """Return all terms that may be chosen, the constant left out."""
    alone = [
        ((i, degree),)
        for i, two in enumerate(steps)
        for degree in range(1, 2 if two else DEGREE + 1)
    ]
    pairs = [((i, 1), (j, 1)) for i, j in itertools.combinations(range(len(steps)), 2)]
    return (*alone, *pairs)


def _chosen(functions: FloatArray, y: FloatArray, steps: tuple[bool, ...]) -> tuple[Term, ...]:
    """Return the terms of the least error at draws left out, the constant first.

    What is left out takes no part in choosing terms either: among hundreds some always fit.
    """
    candidates = _candidates(steps)
    columns = _columns(functions, candidates)
    part = np.arange(len(y)) % _PARTS
    most = min(TERMS_MOST, len(y) // _DRAWS_A_TERM)
    off = np.zeros(most + 1)
    for k in range(_PARTS):
        seen, out = part != k, part == k
        _, path = _followed(columns[seen], y[seen], columns[out], most)
        off += ((y[out] - path) ** 2).sum(axis=1)
    order, _ = _followed(columns, y, columns[:0], int(np.argmin(off)))
    return ((), *(candidates[k] for k in order))


def _followed(
    columns: FloatArray, y: FloatArray, others: FloatArray, most: int
) -> tuple[list[int], FloatArray]:
    """Return columns in the order in which each explains most of what of ``y`` is left.

    Besides what the fit with none of them, one, two and so on comes to at ``others``, the same
    columns elsewhere, (most + 1, others). ``y`` may have any unit.
    """
    mean = float(y.mean())
    left, there = y - mean, np.full(len(others), mean)
    level = columns.mean(axis=0)
    fresh, far = columns - level, others - level
    found: list[int] = []
    path = [there]
    for _ in range(most):
        lengths = np.linalg.norm(fresh, axis=0)
        usable = lengths > _HAIR * math.sqrt(len(y))
        gain = np.where(usable, np.abs(left @ fresh) / np.maximum(lengths, _HAIR), 0.0)
        k = int(np.argmax(gain))
        if gain[k] <= _HAIR * float(np.linalg.norm(y)):
            break
        found.append(k)
        unit, unit_far = fresh[:, k] / lengths[k], far[:, k] / lengths[k]
        along, slope = unit @ fresh, float(unit @ left)
        fresh, far = fresh - np.outer(unit, along), far - np.outer(unit_far, along)
        left, there = left - slope * unit, there + slope * unit_far
        path.append(there)
    # Where nothing is left to explain, more columns change nothing.
    path += [there] * (most + 1 - len(path))
    return found, np.array(path)
