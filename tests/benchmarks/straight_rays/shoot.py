"""Straight rays from outside through the mesh of a fitted assembly: what passes, and where.

Reads the STEP file with CadQuery's own reader and meshes every solid where it stands: vent, piece
of panel, gasket, locknut. Nothing of the section, of slats or of the package's sight check is used.
A ray is aimed at a point of the panel's outer plane, z = 0, anywhere within the opening and some
way beyond it, so that leaks of the joint are met as well; its direction is drawn by the cosine law,
as light or drops from all of the half-space in front would come through a plane. It passes if it
meets no triangle on its whole way through. What passes by the single precision of the fast
intersector is shot again in double precision, at every triangle.

Screw holes of vent and panel lie in line and would let rays through where screws are: pass
``plugs`` (x, y, diameter) to shut them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import numpy as np
import numpy.typing as npt
import trimesh

Floats = npt.NDArray[np.float64]
Plug = tuple[float, float, float]

CHORD_MM = 0.02
ANGLE_RAD = 0.15
FAR_MM = 2000.0
"""Where rays begin and end, farther out than any part reaches."""
BATCH = 100_000


@dataclass(frozen=True)
class Shot:
    """What came of a number of rays.

    ``at_mm`` (n, 2) are x and y in the panel's outer plane of those that pass, ``elevation_deg``
    the angles by which they climb on their way in, ``azimuth_deg`` those by which they go to +x.
    """

    rays: int
    at_mm: Floats
    elevation_deg: Floats
    azimuth_deg: Floats

    @property
    def passed(self) -> int:
        return len(self.at_mm)


def mesh_of_step(path: Path) -> trimesh.Trimesh:
    """Return all solids of a STEP file, each where it stands, as one mesh; mm."""
    return mesh_of_solids(cq.importers.importStep(str(path)).vals())


def mesh_of_solids(shapes: list[cq.Shape]) -> trimesh.Trimesh:
    """Return shapes as one mesh; mm."""
    parts = []
    for shape in shapes:
        for solid in shape.Solids():
            vertices, triangles = solid.tessellate(CHORD_MM, ANGLE_RAD)
            points = np.array([v.toTuple() for v in vertices])
            parts.append(trimesh.Trimesh(points, np.array(triangles), process=False))
    return trimesh.util.concatenate(parts)


def shoot(
    mesh: trimesh.Trimesh,
    half_mm: tuple[float, float],
    rays: int,
    seed: int = 1,
    plugs: tuple[Plug, ...] = (),
) -> Shot:
    """Return which of ``rays`` pass that are aimed within ``half_mm`` of the origin, in x and y."""
    whole = trimesh.util.concatenate([mesh, *(_plug(*plug) for plug in plugs)])
    random = np.random.default_rng(seed)
    at, elevations, azimuths = [], [], []
    for first in range(0, rays, BATCH):
        count = min(BATCH, rays - first)
        aim = np.zeros((count, 3))
        aim[:, 0] = random.uniform(-half_mm[0], half_mm[0], count)
        aim[:, 1] = random.uniform(-half_mm[1], half_mm[1], count)
        way = _cosine_law(random, count)
        free = ~whole.ray.intersects_any(aim - FAR_MM * way, way)
        for i in np.flatnonzero(free):
            if not _met(whole, aim[i], way[i]):
                at.append(aim[i, :2])
                elevations.append(np.degrees(np.arctan2(way[i, 1], -way[i, 2])))
                azimuths.append(np.degrees(np.arctan2(way[i, 0], -way[i, 2])))
    return Shot(rays, np.array(at).reshape(-1, 2), np.array(elevations), np.array(azimuths))


def _cosine_law(random: np.random.Generator, count: int) -> Floats:
    """Return directions inwards (-z), as many by solid angle as their cosine to the normal."""
    radius, turn = np.sqrt(random.uniform(size=count)), random.uniform(0.0, 2.0 * np.pi, count)
    inwards = -np.sqrt(np.maximum(1.0 - radius**2, 1e-9))
    return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), inwards])


def _plug(x: float, y: float, diameter: float) -> trimesh.Trimesh:
    """Return a disc a little wider than a screw hole, in the panel's outer plane."""
    turn = np.linspace(0.0, 2.0 * np.pi, 49)[:-1]
    radius = 0.5 * diameter + 0.1
    rim = np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn), np.zeros(48)])
    fan = [(48, i, (i + 1) % 48) for i in range(48)]
    return trimesh.Trimesh(np.vstack([rim, [(x, y, 0.0)]]), fan, process=False)


def _met(mesh: trimesh.Trimesh, point: Floats, way: Floats) -> bool:
    """Return whether the line through a point meets any triangle, edges included (double)."""
    a, b, c = (mesh.triangles[:, k] - point for k in range(3))
    # The signed volumes of the line with the three sides have one sign where it goes through.
    u = np.einsum("ij,j->i", np.cross(b, c), way)
    v = np.einsum("ij,j->i", np.cross(c, a), way)
    w = np.einsum("ij,j->i", np.cross(a, b), way)
    inside = ((u >= 0) & (v >= 0) & (w >= 0)) | ((u <= 0) & (v <= 0) & (w <= 0))
    return bool((inside & (np.abs(u + v + w) > 0.0)).any())


def opening_of(record: Path) -> tuple[tuple[float, float], tuple[Plug, ...]]:
    """Return half width and height of the opening, and the screw holes, by a part's record; mm."""
    told = json.loads(record.read_text(encoding="utf-8"))["opening"]
    holes = tuple((float(x), float(y), float(d)) for x, y, d in told["holes_mm"])
    return (told["width_mm"] / 2, told["height_mm"] / 2), holes
