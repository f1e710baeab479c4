"""Curves in part coordinates, each kind with a colour and what it means in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.palette import NAMES

_SAME_MM: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """Curves of one meaning.

    Attributes
    ----------
    name : str
        What they are, in few words.
    words : str
        What they say of this part, for a legend.
    colour : str
        Their colour (#rrggbb), one that has a name.
    lines : tuple of (n, 3) arrays
        Points of each curve, part coordinates, mm.
    thick : bool
        Whether they are drawn thicker than others.
    """

    name: str
    words: str
    colour: str
    lines: tuple[FloatArray, ...]
    thick: bool = False

    @property
    def legend(self) -> str:
        """Colour and meaning in words."""
        return f"{NAMES[self.colour]}: {self.words}"

    def moved(self, way_mm: tuple[float, float, float]) -> Curves:
        """Return the curves moved by so much, mm."""
        return replace(self, lines=tuple(line + np.array(way_mm) for line in self.lines))

    def left_of(self, x_mm: float) -> Curves:
        """Return what of the curves lies on the near side of a plane (x, mm): cut where they cross.

        Examples
        --------
        >>> line = np.array([[0.0, 0.0, 0.0], [4.0, 0.0, 2.0], [6.0, 0.0, 2.0]])
        >>> [p.tolist() for p in Curves("a", "a", "#222222", (line,)).left_of(2.0).lines]
        [[[0.0, 0.0, 0.0], [2.0, 0.0, 1.0]]]
        """
        return replace(self, lines=tuple(p for line in self.lines for p in _left(line, x_mm)))


def _left(line: FloatArray, x_mm: float) -> list[FloatArray]:
    """Return the stretches of a polyline up to a plane."""
    found: list[list[FloatArray]] = []
    run: list[FloatArray] = []
    for here, after in pairwise(line):
        inside, goes_on = here[0] <= x_mm + _SAME_MM, after[0] <= x_mm + _SAME_MM
        if inside and not run:
            run = [here]
        if inside != goes_on:
            run.append(here + (x_mm - here[0]) / (after[0] - here[0]) * (after - here))
        if goes_on:
            run.append(after)
        elif run:
            found.append(run)
            run = []
    return [np.array(points) for points in (*found, run) if len(points) > 1]


def in_plane(path_mm: FloatArray, x_mm: float) -> FloatArray:
    """Return points (z, y) of a section, (n, 2), in part coordinates at a depth ``x_mm``; all mm.

    Examples
    --------
    >>> in_plane(np.array([[1.0, 2.0]]), 5.0).tolist()
    [[5.0, 2.0, 1.0]]
    """
    return np.column_stack([np.full(len(path_mm), x_mm), path_mm[:, 1], path_mm[:, 0]])
