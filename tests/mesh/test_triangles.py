"""Meshes: what is welded, and how edges are counted, against plain counting."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from tests.helpers.print_shapes import box
from vent_family.mesh.triangles import edge_multiplicity, is_watertight, mesh_of, mesh_volume_mm3


@pytest.mark.parametrize("thickness_mm", [0.2, 0.005, 0.001])
def test_thin_plates_keep_both_faces(thickness_mm: float) -> None:
    """Corners are welded below a hundredth of a micrometre or so, not at micrometres."""
    vertices, triangles = mesh_of(box((0, 10), (0, 10), (0, thickness_mm)), 0.05, 0.3)
    assert len(vertices) == 8
    assert is_watertight(triangles)
    assert mesh_volume_mm3(vertices, triangles) == pytest.approx(100.0 * thickness_mm, rel=1e-6)


def counted(triangles: np.ndarray) -> tuple[dict[int, int], bool]:
    """Return triangles per edge and watertightness, edge by edge."""
    directed = Counter((int(t[i]), int(t[(i + 1) % 3])) for t in triangles for i in range(3))
    edges: Counter[frozenset[int]] = Counter()
    for (a, b), n in directed.items():
        edges[frozenset((a, b))] += n
    tight = bool(edges) and set(edges.values()) == {2} and set(directed.values()) == {1}
    return dict(Counter(edges.values())), tight


def test_edges_are_counted_as_by_hand() -> None:
    tetrahedron = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    flipped = tetrahedron.copy()
    flipped[0] = flipped[0][::-1]
    box_mesh = mesh_of(box((0, 1), (0, 2), (0, 3)), 0.05, 0.3)[1]
    seen = []
    for triangles in (tetrahedron, flipped, tetrahedron[:3], box_mesh, box_mesh[1:]):
        expected, tight = counted(triangles)
        assert edge_multiplicity(triangles) == expected
        assert is_watertight(triangles) == tight
        seen.append(tight)
    assert seen == [True, False, False, True, False]
