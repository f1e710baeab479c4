"""Meshes packed for a browser: a script of some ten kilobytes that any page may read from a disk.

Corners lie on a grid of 65,536 steps along the longest side. A column of numbers, the corners' x,
y and z and the triangles' corners, is written as steps from one number to the next, small steps up
and down as small numbers, low bytes first and then the higher ones: what is alike stands together,
and deflates well.
"""

from __future__ import annotations

import base64
import json
import zlib
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray

GRID: Final = 65_535
"""Steps along the longest side (1)."""
_DIGITS: Final = 9
"""Significant digits of the grid's place and step: a hundredth of a step over any part."""
_NAME: Final = "ventModel"


def packed_script(vertices: FloatArray, triangles: IntArray, colour: str) -> bytes:
    """Return a mesh as a classic script that assigns it to ``self.ventModel``.

    Parameters
    ----------
    vertices, triangles : (n, 3) and (m, 3) arrays
        The mesh, mm.
    colour : str
        Its colour as a page writes it, ``#rrggbb``.

    Raises
    ------
    ValueError
        if there is no triangle, or a corner is not a finite number

    Examples
    --------
    >>> corners = np.array([[0.0, 0, 0], [65.535, 0, 0], [0, 6.5535, 0]])
    >>> packed_script(corners, np.array([[0, 1, 2]]), "#aabbcc").decode()[:42]
    'self.ventModel={"colour":"#aabbcc","data":'
    """
    if not len(triangles) or not np.isfinite(vertices).all():
        raise ValueError("a mesh with triangles and finite corners is needed")
    low = vertices.min(axis=0)
    step = _written(max(float((vertices - low).max()) / GRID, 1e-9))
    low = np.array([_written(float(v)) for v in low])
    grid = np.clip(np.rint((vertices - low) / step), 0, GRID).astype(np.int64)
    width = 2 if len(vertices) <= GRID + 1 else 4
    columns = [_column(grid[:, axis], 2) for axis in range(3)]
    columns.append(_column(triangles.reshape(-1), width))
    model = {
        "colour": colour,
        "data": base64.b64encode(zlib.compress(b"".join(columns), 9)).decode("ascii"),
        "index_bytes": width,
        "low_mm": low.tolist(),
        "step_mm": step,
        "triangles": len(triangles),
        "vertices": len(vertices),
    }
    return f"self.{_NAME}={json.dumps(model, separators=(',', ':'))};\n".encode("ascii")


def _written(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}") + 0.0


def _column(values: IntArray, width: int) -> bytes:
    """Return whole numbers as steps from one to the next, in planes of bytes, the lowest first."""
    bits = 8 * width
    steps = np.diff(values, prepend=0)
    # Steps are taken round the ring of all numbers of this width: half of it up, half of it down.
    half = 1 << (bits - 1)
    steps = (steps + half) % (1 << bits) - half
    folded = np.where(steps < 0, -2 * steps - 1, 2 * steps).astype("<u4")
    return np.ascontiguousarray(folded.view(np.uint8).reshape(-1, 4)[:, :width].T).tobytes()
