"""How a part stands on the bed."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.catalog.model import Orientation
from vent_family.spec.pieces import Axis

AXES: Final[Mapping[Orientation, tuple[Axis, int]]] = MappingProxyType(
    # the axis of the part that points up from the bed, and its sign
    {"face_down": (2, -1), "upright": (1, 1)}
)


def turned(vertices: FloatArray, orientation: Orientation) -> FloatArray:
    """Return vertices (n, 3), mm, turned so that a part printed so stands on z = 0; no mirroring.

    Examples
    --------
    >>> corners = np.array([[1.0, 2, 3], [4, 5, 9]])
    >>> turned(corners, "face_down").tolist()
    [[1.0, -2.0, 6.0], [4.0, -5.0, 0.0]]
    """
    axis, sign = AXES[orientation]
    result = np.roll(vertices, 2 - axis, axis=1)
    if sign < 0:
        result = result * np.array([1.0, -1.0, -1.0])
    result[:, 2] -= result[:, 2].min()
    return np.asarray(result, dtype=np.float64)


def turned_back(points: FloatArray, orientation: Orientation, lowest_mm: float) -> FloatArray:
    """Return points (n, 3), mm, on the bed as they lie in the part: what :func:`turned` undoes.

    ``lowest_mm`` is the part's coordinate, mm, of the side on the bed, along the axis that points
    away from it.

    Examples
    --------
    >>> corners = np.array([[1.0, 2, 3], [4, 5, 9]])
    >>> turned_back(turned(corners, "face_down"), "face_down", 9.0).tolist()
    [[1.0, 2.0, 3.0], [4.0, 5.0, 9.0]]
    >>> turned_back(turned(corners, "upright"), "upright", 2.0).tolist()
    [[1.0, 2.0, 3.0], [4.0, 5.0, 9.0]]
    """
    axis, sign = AXES[orientation]
    result = points + np.array([0.0, 0.0, sign * lowest_mm])
    if sign < 0:
        result *= (1.0, -1.0, -1.0)
    return np.asarray(np.roll(result, axis - 2, axis=1), dtype=np.float64)
