"""Laplace's equation on the free cells of a grid: conjugate gradients with a multigrid cycle.

Every free cell gives as much to its free neighbours as it gets. A level coarser, all free cells of
two by two that touch one another within their square are one node, so that a slat thinner than the
squares still parts the water on its two sides. Nodes exchange what their cells exchange, at half
the conductance, because their middles lie twice as far apart. A cycle smooths by Gauss and Seidel
on the way down, forwards, and on the way up, backwards: that is symmetric, as conjugate gradients
ask of what they are preconditioned with (Trottenberg, Oosterlee and Schueller 2001, Multigrid, from
memory). The number of cycles hardly depends on the number of cells.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.compiled import compiled

EXACT: Final = 1e-12
"""Residual over the first one from which an answer is as good as a direct solver's."""
CYCLES_MAX: Final = 500
COARSEST: Final = 40
"""Nodes from which on a level is solved directly."""
LEVELS_MAX: Final = 16


Indices = npt.NDArray[np.integer[Any]]
"""Numbers of nodes and places: no wider than they need be, for all are read in every cycle."""


class Graph(NamedTuple):
    """Nodes of one level and what they exchange, conductances as ratios to two cells' own (1).

    The neighbours of node k are ``items[start[k] : start[k + 1]]``, what it exchanges with them
    stands in ``conductance`` at the same places; ``ends`` is what it exchanges with both open ends.
    ``row`` and ``column`` are its square's.
    """

    start: Indices
    items: Indices
    conductance: FloatArray
    ends: FloatArray
    row: Indices
    column: Indices


def potential(free: BoolArray, within: float = EXACT) -> FloatArray:
    """Return the potential in the cells of a grid, 0 beyond its first row and 1 beyond its last.

    Both open ends lie half a cell beyond the middles of the outermost rows; solid cells have 0.
    ``free`` says which cells are, ``within`` is the residual to come to, over the first one (1).

    Raises
    ------
    FloatingPointError
        if the cycles do not come to an end

    Examples
    --------
    A straight channel, and one with a wall across half of it; what flows in flows out:

    >>> channel = np.ones((4, 3), dtype=bool)
    >>> potential(channel)[:, 1].round(6).tolist()
    [0.125, 0.375, 0.625, 0.875]
    >>> channel[1, :2] = False
    >>> found = potential(channel)
    >>> float(round(2.0 * found[0].sum() - 2.0 * (1.0 - found[-1]).sum(), 9)) + 0.0
    0.0
    """
    found = np.zeros(free.shape)
    if not free.any():
        return found
    finest = _cells(free)
    levels, joins = _levels(finest)
    right = np.where(finest.row == len(free) - 1, 2.0, 0.0)
    # All levels stand one after the other in one array of each kind.
    sizes = [level.ends.size for level in levels]
    first = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    exchanged = np.concatenate([[0], np.cumsum([level.items.size for level in levels])])
    diagonals = [_diagonal(level.start, level.conductance, level.ends) for level in levels]
    starts = [level.start[:-1] + at for level, at in zip(levels, exchanged, strict=False)]
    solution, left = _solved(
        first,
        np.concatenate([*starts, exchanged[-1:]]).astype(np.int64),
        np.concatenate([level.items + at for level, at in zip(levels, first, strict=False)]).astype(
            np.uint32
        ),
        np.concatenate([level.conductance for level in levels]),
        1.0 / np.concatenate(diagonals),
        np.concatenate(
            [*(join + at for join, at in zip(joins, first[1:], strict=False)), np.zeros(sizes[-1])]
        ).astype(np.uint32),
        right,
        _inverse(levels[-1], diagonals[-1]),
        within,
        CYCLES_MAX,
    )
    if not left <= within:
        raise FloatingPointError(f"the potential has not settled: {left:.1e} of the residual left")
    found[finest.row, finest.column] = solution
    return found


def _levels(finest: Graph) -> tuple[list[Graph], list[Indices]]:
    """Return all levels, the finest first, and to which node of the next each node belongs."""
    levels, joins = [finest], list[Indices]()
    while levels[-1].ends.size > COARSEST and len(levels) < LEVELS_MAX:
        join, *coarser = _coarser(*levels[-1])
        joins.append(join)
        levels.append(Graph(*coarser))
    return levels, joins


def _inverse(coarsest: Graph, diagonal: FloatArray) -> FloatArray:
    """Return the inverse of the coarsest level's matrix."""
    n = diagonal.size
    matrix = np.diag(diagonal)
    matrix[np.repeat(np.arange(n), np.diff(coarsest.start)), coarsest.items] -= coarsest.conductance
    return np.asarray(np.linalg.inv(matrix))


def _cells(free: BoolArray) -> Graph:
    """Return the finest level: free cells, as on a chessboard the black ones before the white.

    Cells of one colour do not wait for one another's values while they are smoothed.
    """
    white = np.add.outer(np.arange(free.shape[0]), np.arange(free.shape[1])) % 2 == 1
    colours = (np.nonzero(free & ~white), np.nonzero(free & white))
    row, column = (np.concatenate(of).astype(np.int32) for of in zip(*colours, strict=True))
    index = np.full(free.shape, -1, dtype=np.int32)
    index[row, column] = np.arange(row.size, dtype=np.int32)
    start, items = _joined_cells(index, row, column)
    # The two open ends lie half a cell beyond the outermost cell centres.
    ends = 2.0 * (row == 0) + 2.0 * (row == len(free) - 1)
    return Graph(start, items, np.ones(items.size), ends, row, column)


@compiled(error_model="numpy")
def _joined_cells(index: Indices, row: Indices, column: Indices) -> tuple[Indices, Indices]:
    nz, ny = index.shape
    start = np.zeros(row.size + 1, dtype=np.int64)
    items = np.empty(4 * row.size, dtype=np.int32)
    k = 0
    for p in range(row.size):
        i, j = row[p], column[p]
        if i > 0 and index[i - 1, j] >= 0:
            items[k] = index[i - 1, j]
            k += 1
        if j > 0 and index[i, j - 1] >= 0:
            items[k] = index[i, j - 1]
            k += 1
        if j < ny - 1 and index[i, j + 1] >= 0:
            items[k] = index[i, j + 1]
            k += 1
        if i < nz - 1 and index[i + 1, j] >= 0:
            items[k] = index[i + 1, j]
            k += 1
        start[p + 1] = k
    return start, items[:k].copy()


@compiled(error_model="numpy")
def _root(parent: Indices, k: int) -> int:
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@compiled(error_model="numpy")
def _coarser(
    start: Indices,
    items: Indices,
    conductance: FloatArray,
    ends: FloatArray,
    row: Indices,
    column: Indices,
) -> tuple[Indices, Indices, Indices, FloatArray, FloatArray, Indices, Indices]:
    """Return to which node of the next level each node belongs, and that level."""
    n = ends.size
    parent = np.arange(n, dtype=np.int64)
    for p in range(n):
        for e in range(start[p], start[p + 1]):
            q = items[e]
            if q < p and row[q] // 2 == row[p] // 2 and column[q] // 2 == column[p] // 2:
                a, b = _root(parent, p), _root(parent, q)
                if a < b:
                    parent[b] = a
                elif b < a:
                    parent[a] = b
    join = np.empty(n, dtype=np.int32)
    m = 0
    for colour in range(2):
        for p in range(n):
            if parent[p] == p and (row[p] // 2 + column[p] // 2) % 2 == colour:
                join[p] = m
                m += 1
    for p in range(n):
        join[p] = join[_root(parent, p)]
    # The nodes of each new node as a chain.
    head = np.full(m, -1, dtype=np.int64)
    following = np.full(n, -1, dtype=np.int64)
    for p in range(n - 1, -1, -1):
        following[p] = head[join[p]]
        head[join[p]] = p
    new_start = np.zeros(m + 1, dtype=np.int64)
    new_items = np.empty(items.size, dtype=np.int32)
    new_conductance = np.empty(items.size)
    new_ends = np.zeros(m)
    new_row = np.empty(m, dtype=np.int32)
    new_column = np.empty(m, dtype=np.int32)
    place = np.full(m, -1, dtype=np.int64)
    k = 0
    for new in range(m):
        begin = k
        p = head[new]
        new_row[new], new_column[new] = row[p] // 2, column[p] // 2
        while p >= 0:
            new_ends[new] += 0.5 * ends[p]
            for e in range(start[p], start[p + 1]):
                other = join[items[e]]
                if other == new:
                    continue
                if place[other] < begin:
                    place[other] = k
                    new_items[k] = other
                    new_conductance[k] = 0.0
                    k += 1
                new_conductance[place[other]] += 0.5 * conductance[e]
            p = following[p]
        new_start[new + 1] = k
    return (
        join,
        new_start,
        new_items[:k].copy(),
        new_conductance[:k].copy(),
        new_ends,
        new_row,
        new_column,
    )


@compiled(error_model="numpy")
def _diagonal(start: Indices, conductance: FloatArray, ends: FloatArray) -> FloatArray:
    found = ends.copy()
    for p in range(ends.size):
        for e in range(start[p], start[p + 1]):
            found[p] += conductance[e]
    return found


@compiled(error_model="numpy")
def _cycle(
    first: Indices,
    start: Indices,
    items: Indices,
    conductance: FloatArray,
    inverse_diagonal: FloatArray,
    join: Indices,
    b: FloatArray,
    x: FloatArray,
    inverse: FloatArray,
) -> None:
    """Put one cycle's answer to the residual ``b`` of the finest level into ``x``."""
    levels = first.size - 1
    for level in range(levels - 1):
        low, high = first[level], first[level + 1]
        x[low:high] = 0.0
        for p in range(low, high):
            value = b[p]
            for e in range(start[p], start[p + 1]):
                value += conductance[e] * x[items[e]]
            x[p] = value * inverse_diagonal[p]
        b[high : first[level + 2]] = 0.0
        for p in range(low, high):
            left = b[p] - x[p] / inverse_diagonal[p]
            for e in range(start[p], start[p + 1]):
                left += conductance[e] * x[items[e]]
            b[join[p]] += left
    low, high = first[levels - 1], first[levels]
    for p in range(low, high):
        x[p] = 0.0
        for q in range(low, high):
            x[p] += inverse[p - low, q - low] * b[q]
    for level in range(levels - 2, -1, -1):
        low, high = first[level], first[level + 1]
        for p in range(low, high):
            x[p] += x[join[p]]
        for p in range(high - 1, low - 1, -1):
            value = b[p]
            for e in range(start[p], start[p + 1]):
                value += conductance[e] * x[items[e]]
            x[p] = value * inverse_diagonal[p]


@compiled(error_model="numpy")
def _solved(
    first: Indices,
    start: Indices,
    items: Indices,
    conductance: FloatArray,
    inverse_diagonal: FloatArray,
    join: Indices,
    right: FloatArray,
    inverse: FloatArray,
    within: float,
    cycles_max: int,
) -> tuple[FloatArray, float]:
    """Return the answer, and its residual over the first one."""
    n = first[1]
    b, z = np.zeros(first[-1]), np.zeros(first[-1])
    x, way, pushed = np.zeros(n), np.zeros(n), np.empty(n)
    residual = right.copy()
    whole = np.sqrt((residual * residual).sum())
    left, last = whole, 1.0
    for cycle in range(cycles_max):
        b[:n] = residual
        _cycle(first, start, items, conductance, inverse_diagonal, join, b, z, inverse)
        now = 0.0
        for k in range(n):
            now += residual[k] * z[k]
        turn = now / last if cycle > 0 else 0.0
        last = now
        for k in range(n):
            way[k] = z[k] + turn * way[k]
        against = 0.0
        for k in range(n):
            value = way[k] / inverse_diagonal[k]
            for e in range(start[k], start[k + 1]):
                value -= conductance[e] * way[items[e]]
            pushed[k] = value
            against += value * way[k]
        step = now / against
        squares = 0.0
        for k in range(n):
            x[k] += step * way[k]
            residual[k] -= step * pushed[k]
            squares += residual[k] * residual[k]
        left = np.sqrt(squares)
        if left <= within * whole:
            break
    return x, left / whole if whole > 0.0 else 0.0
