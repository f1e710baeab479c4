"""Where a straight way crosses an edge of a section, compiled: drops, sheets and films ask it."""

from __future__ import annotations

from vent_family.base.arrays import FloatArray
from vent_family.base.compiled import compiled


@compiled(error_model="numpy")
def crossing(
    edges: FloatArray, k: int, z_mm: float, y_mm: float, dz: float, dy: float
) -> tuple[float, float, float]:
    """Return where a way meets edge ``k``: share of the way, share of the edge (1), and a product.

    The shares are of the length of (``dz``, ``dy``) and of the edge. The product is that of both
    lengths and the sine of the angle between them, mm or mm2 as the way is given: 0 where they are
    parallel; then the shares mean nothing.

    Parameters
    ----------
    edges
        edges (n, 4), mm: z and y of their beginnings and ends
    k
        which edge
    z_mm, y_mm
        where the way begins, mm
    dz, dy
        the way: a unit vector (1), or the whole of it, mm

    Examples
    --------
    >>> import numpy as np
    >>> crossing(np.array([[2.0, -1.0, 2.0, 3.0]]), 0, 0.0, 0.0, 1.0, 0.0)
    (2.0, 0.25, 4.0)
    """
    ez, ey = edges[k, 2] - edges[k, 0], edges[k, 3] - edges[k, 1]
    det = dz * ey - dy * ez
    rz, ry = edges[k, 0] - z_mm, edges[k, 1] - y_mm
    return (rz * ey - ry * ez) / det, (rz * dy - ry * dz) / det, det
