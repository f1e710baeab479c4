"""Potential flow on a grid by cycles over coarser grids, against a direct solution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import label
from scipy.sparse import lil_matrix
from scipy.sparse.linalg import spsolve

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.evidence.water.multigrid import potential


def direct(free: BoolArray) -> FloatArray:
    """Return the same, cell by cell written down as equations: what flows in flows out."""
    place = {(int(i), int(j)): k for k, (i, j) in enumerate(np.argwhere(free))}
    matrix, right = lil_matrix((len(place), len(place))), np.zeros(len(place))
    for (i, j), k in place.items():
        for beside in ((i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)):
            if beside in place:
                matrix[k, k] += 1.0
                matrix[k, place[beside]] -= 1.0
            elif not 0 <= beside[0] < len(free):
                # Half a cell from the open end: twice as much flows for the same difference.
                matrix[k, k] += 2.0
                right[k] += 2.0 if beside[0] >= len(free) else 0.0
    found = np.zeros(free.shape)
    found[free] = spsolve(matrix.tocsr(), right)
    return found


def slatted(nz: int, ny: int, pitch: int, thick: int) -> BoolArray:
    """Return slanting slats two cells or more thick, in two banks."""
    i, j = np.indices((nz, ny))
    solid = np.where(i > nz // 2, j - i, j + i) % pitch < thick
    return through(~solid | (i < 3) | (i > nz - 4) | (abs(i - nz // 2) < 2))


def through(free: BoolArray) -> BoolArray:
    """Return what is free as far as it leads from one open end to the other."""
    marks, _ = label(free)
    return np.asarray(
        free & np.isin(marks, list(set(marks[0][free[0]]) & set(marks[-1][free[-1]])))
    )


@pytest.mark.parametrize(("pitch", "thick"), [(7, 2), (12, 3), (23, 5)])
def test_slats_thinner_than_the_coarser_cells_part_the_air(pitch: int, thick: int) -> None:
    free = slatted(40, 60, pitch, thick)
    assert np.abs(potential(free) - direct(free)).max() < 1e-10


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_any_clutter_is_solved_like_equations_one_by_one(seed: int) -> None:
    free = through(np.random.default_rng(seed).random((37, 29)) < 0.72)
    assert free.any()
    assert np.abs(potential(free) - direct(free)).max() < 1e-10


def test_an_estimate_is_nearly_the_same() -> None:
    free = slatted(64, 96, 12, 3)
    rough, exact = potential(free, 1e-4), potential(free)
    assert 0.0 < np.abs(rough - exact).max() < 5e-3


def test_nothing_free_has_no_potential_and_the_impossible_is_refused() -> None:
    assert not potential(np.zeros((4, 5), dtype=bool)).any()
    with pytest.raises(FloatingPointError, match="has not settled"):
        potential(slatted(12, 20, 7, 2), 0.0)
