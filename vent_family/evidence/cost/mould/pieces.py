"""The pieces a part is moulded as, from its undercuts.

The rule, as a mould designer works: if one mould frees the part, with slides and turning cores
where it needs them, the part is one piece. If not, every bank of slats becomes a grille of its own,
its ribs and a ring around it, and what stays is the shell; the apron above the drain goes with the
outermost grille, or it would hold the trough behind it. A grille that no way of opening in the
section's plane frees is cut into the leaves of its slats, and at worst into single slats. A shell
that is not freed is cut in two, square to the depth where that helps most; what is caught even then
takes lifters. Draught is not drawn: it changes no way out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from shapely.geometry import Polygon

from vent_family.base.arrays import BoolArray, FloatArray, IntArray, ObjectArray
from vent_family.evidence.cost.mould.draw import (
    SMALL_MM2,
    Draw,
    Undercut,
    best_draw,
    draw_along,
    undercut,
)
from vent_family.evidence.cost.mould.regions import (
    APRON,
    LOCKNUT,
    NEAR_MM,
    RIBS,
    THREAD,
    bank_name,
    nut_regions,
    on_outline,
    outlines_shape,
    regions,
)
from vent_family.evidence.cost.mould.samples import Samples, open_ways, sampled, wall_mm
from vent_family.evidence.cost.mould.shape import (
    PieceShape,
    face_count,
    moulded_volume_mm3,
    repeated,
    shadow_mm2,
    size_mm,
    thick_wall_mm,
)
from vent_family.spec.forms import Outline
from vent_family.spec.section import Slat
from vent_family.spec.vent import VentSpec

RING_FACES: Final = 8
"""Faces of a ring: four outside, four inside."""
PLANES: Final = 7
"""So many planes are tried to cut a shell in two."""


@dataclass(frozen=True, slots=True)
class Split:
    """What mould makers find: undercuts by way of opening, and the pieces the part takes."""

    undercuts: tuple[Undercut, ...]
    pieces: tuple[PieceShape, ...]


@dataclass(frozen=True, eq=False)
class _Surface:
    """The vent's sampled surface with its regions, what it sees, and its walls, mm."""

    spec: VentSpec
    mesh: tuple[FloatArray, IntArray]
    samples: Samples
    names: ObjectArray
    walls_mm: FloatArray
    nominal_mm: float
    ring_mm: float


def split_part(
    spec: VentSpec,
    vent: tuple[FloatArray, IntArray],
    locknut: tuple[FloatArray, IntArray] | None,
    *,
    nominal_mm: float,
    ring_mm: float,
) -> Split:
    """Return the pieces a vent and its locknut are moulded as.

    Parameters
    ----------
    spec
        the vent
    vent, locknut
        meshes in use position: vertices (n, 3) in mm and triangles (m, 3), closed
    nominal_mm
        wall thickness to which thicker walls are cored, mm
    ring_mm
        width of the ring that holds a bank of slats together, mm
    """
    samples = sampled(*vent)
    names = regions(spec, samples)
    ways = open_ways(*vent, samples)
    walls = wall_mm(*vent, samples)
    surface = _Surface(spec, vent, samples, names, walls, nominal_mm, ring_mm)
    undercuts = tuple(undercut(samples, ways, names, axis) for axis in range(3))
    draw = best_draw(samples, ways, names)
    if draw.free:
        whole = np.ones(len(samples), dtype=np.bool_)
        pieces = [_part_of_shell(surface, "vent", whole, draw, ways)]
    else:
        pieces = [*_shell(surface), *_grilles(surface)]
    if locknut is not None and spec.body.neck is not None:
        pieces.append(_locknut(spec, locknut, nominal_mm))
    return Split(undercuts, tuple(pieces))


def _shell(surface: _Surface) -> list[PieceShape]:
    """Return the shell, in one piece or in two."""
    banks = [bank_name(b) for b in range(surface.spec.section.stack.bank_count)]
    kept = ~np.isin(surface.names.astype(str), [*banks, RIBS, APRON])
    ways, draw = _leaving(surface, kept)
    if draw.free:
        return [_part_of_shell(surface, "shell", kept, draw, ways)]
    depth = surface.samples.points_mm[kept, 2]
    low, high = depth.min(), depth.max()
    best: tuple[float, list[PieceShape]] | None = None
    for plane in np.linspace(low, high, PLANES + 2)[1:-1]:
        behind = kept & (surface.samples.points_mm[:, 2] < plane)
        left, pieces = 0.0, []
        for name, half in (("back shell", behind), ("front shell", kept & ~behind)):
            seen, way = _leaving(surface, half)
            pieces.append(_part_of_shell(surface, name, half, way, seen))
            # A slide too many weighs as much as the least undercut that asks for one.
            left += way.left_mm2 + SMALL_MM2 * len(way.slides)
        if best is None or left < best[0]:
            best = (left, pieces)
    assert best is not None
    if best[0] < draw.left_mm2 / 2.0:
        return best[1]
    return [_part_of_shell(surface, "shell", kept, draw, ways)]


def _leaving(surface: _Surface, kept: BoolArray) -> tuple[BoolArray, Draw]:
    """Return what part of the vent's surface sees past itself, and how it leaves its mould."""
    samples, names = surface.samples.of(kept), surface.names[kept]
    mesh = surface.samples.parts(surface.mesh, kept)
    ways = open_ways(*mesh, samples, (2,))
    draw = draw_along(samples, ways, names, 2)
    if draw.left_in:
        ways |= open_ways(*mesh, samples, (0, 1))
        draw = best_draw(samples, ways, names)
    return ways, draw


def _part_of_shell(
    surface: _Surface, name: str, kept: BoolArray, draw: Draw, ways: BoolArray
) -> PieceShape:
    """Return a piece that is part of the vent as it stands; ``ways`` are those of its samples."""
    samples, walls = surface.samples.of(kept), surface.walls_mm[kept]
    axis = "xyz".index(draw.axis)
    vertices, triangles = surface.mesh
    return PieceShape(
        name=name,
        count=1,
        draw=draw,
        size_mm=size_mm(samples, axis),
        shadow_mm2=shadow_mm2(samples, ways, axis),
        volume_mm3=moulded_volume_mm3(samples, walls, surface.nominal_mm),
        wall_mm=thick_wall_mm(samples, walls, surface.nominal_mm),
        faces=float(face_count(vertices, triangles[np.unique(samples.triangle)])),
    )


def _locknut(spec: VentSpec, mesh: tuple[FloatArray, IntArray], nominal_mm: float) -> PieceShape:
    """Return the locknut; a core that unscrews makes its thread."""
    assert spec.body.neck is not None
    samples = sampled(*mesh)
    names = nut_regions(spec.body.neck.thread, samples)
    ways = open_ways(*mesh, samples)
    walls = wall_mm(*mesh, samples)
    draw = best_draw(samples, ways, names, frozenset((THREAD,)))
    axis = "xyz".index(draw.axis)
    return PieceShape(
        name=LOCKNUT,
        count=1,
        draw=draw,
        size_mm=size_mm(samples, axis),
        shadow_mm2=shadow_mm2(samples, ways, axis),
        volume_mm3=moulded_volume_mm3(samples, walls, nominal_mm),
        wall_mm=thick_wall_mm(samples, walls, nominal_mm),
        faces=float(face_count(*mesh)),
    )


def _grilles(surface: _Surface) -> list[PieceShape]:
    """Return the grilles of all banks, equal ones as one piece with a count."""
    found: dict[object, PieceShape] = {}
    stack = surface.spec.section.stack
    for bank in range(stack.bank_count):
        slats = [s for s in surface.spec.section.slats if s.bank == bank]
        if not slats:
            continue
        for key, piece in _bank(surface, bank, slats):
            same = found.get(key)
            found[key] = piece
            if same is not None:
                names, count = f"{same.name}, {piece.name}", same.count + piece.count
                found[key] = replace(same, name=names, count=count)
    return list(found.values())


def _bank(surface: _Surface, bank: int, slats: Sequence[Slat]) -> list[tuple[object, PieceShape]]:
    """Return the pieces of a bank: one grille, or its leaves, or single slats."""
    name = f"grille {bank + 1}"
    whole = [s.outline for s in slats]
    draw = _way_out(surface, bank, whole)
    if draw.free:
        return [_grille(surface, name, bank, whole, draw, slats)]
    groups = _leaf_groups(slats)
    draws = [_way_out(surface, bank, group) for group in groups]
    if len(groups) > 1 and all(d.free for d in draws):
        return [
            _grille(surface, f"{name}{chr(ord('a') + i)}", bank, group, d, slats)
            for i, (group, d) in enumerate(zip(groups, draws, strict=True))
        ]
    longest = max(whole, key=lambda o: Polygon(o).area)
    key, piece = _grille(
        surface, f"slats of {name}", bank, [longest], _way_out(surface, bank, [longest]), slats[:1]
    )
    return [(key, replace(piece, count=len(slats)))]


def _leaf_groups(slats: Sequence[Slat]) -> list[list[Outline]]:
    """Return the leaves of a bank from outside in: those of the same depth together."""
    most = max(slats, key=lambda s: len(s.leaves)).leaves
    depths = sorted((_depth(leaf) for leaf in most), reverse=True)
    groups: list[list[Outline]] = [[] for _ in depths]
    for slat in slats:
        for leaf in slat.leaves:
            nearest = int(np.argmin([abs(_depth(leaf) - d) for d in depths]))
            groups[nearest].append(leaf)
    return groups


def _depth(outline: Outline) -> float:
    return sum(z for z, _ in outline) / len(outline)


def _own(surface: _Surface, bank: int, outlines: Sequence[Outline]) -> BoolArray:
    """Return which samples a grille of these outlines takes: the outermost has the apron."""
    on = on_outline(outlines_shape(outlines), surface.samples)
    own = on & (surface.names == bank_name(bank))
    front = max(z for o in outlines for z, _ in o)
    if front >= surface.spec.section.stack_z_mm[1] - NEAR_MM:
        own |= surface.names == APRON
    return np.asarray(own)


def _way_out(surface: _Surface, bank: int, outlines: Sequence[Outline]) -> Draw:
    """Return how a grille leaves its mould: along z, or along one of its slats' own sides."""
    chosen = _own(surface, bank, outlines)
    samples = surface.samples.of(chosen)
    names = surface.names[chosen]
    draws = []
    for lean in _leans(outlines):
        turned = samples.leaning(lean)
        ways = open_ways(*turned.mesh, turned, (2,))
        draws.append(replace(draw_along(turned, ways, names, 2), lean_deg=lean))
        if draws[-1].free:
            break
    return min(draws, key=lambda d: d.left_mm2)


def _leans(outlines: Sequence[Outline]) -> list[float]:
    """Return the ways of opening that are tried, degrees from +z: z first, then the sides'."""
    found = set()
    for outline in outlines:
        for (z0, y0), (z1, y1) in zip(outline, [*outline[1:], outline[0]], strict=True):
            angle = math.degrees(math.atan2(y1 - y0, z1 - z0))
            found.add(round((angle + 90.0) % 180.0 - 90.0, 1))
    return [0.0, *sorted(found - {0.0}, key=abs)]


def _grille(
    surface: _Surface,
    name: str,
    bank: int,
    outlines: Sequence[Outline],
    draw: Draw,
    slats: Sequence[Slat],
) -> tuple[object, PieceShape]:
    """Return a grille with its share of the ribs and its ring, and what makes it equal another."""
    spec, s = surface.spec, surface.samples
    zs = [z for o in outlines for z, _ in o]
    own = _own(surface, bank, outlines)
    low, high = _rib_depth(spec, slats, min(zs), max(zs))
    z = s.points_mm[:, 2]
    ribs = (surface.names == RIBS) & (np.abs(s.normals[:, 0]) > 0.9) & (z >= low) & (z < high)
    apron = own & (surface.names == APRON)
    volume = sum(Polygon(o).area * _length_mm(spec, o) for o in outlines)
    for part in (ribs, apron):
        volume += moulded_volume_mm3(s.of(part), surface.walls_mm[part], surface.nominal_mm)
    turned = s.of(own).leaning(draw.lean_deg)
    width, height, depth = size_mm(turned, 2)
    ring = 2.0 * (width + height) * surface.ring_mm
    volume += ring * (max(zs) - min(zs))
    slat_area = shadow_mm2(turned, open_ways(*turned.mesh, turned, (2,)), 2)
    rib_area = spec.rib_count * spec.rib_thickness_mm * height
    count = len(outlines) * len(spec.bays)
    walls = [spec.section.stack.thickness_mm, surface.ring_mm]
    walls += [spec.rib_thickness_mm] if spec.rib_count else []
    middle = (min(zs) + max(zs)) / 2.0
    drawn = tuple(
        sorted(tuple((round(a - middle, 2), round(b, 2)) for a, b in o) for o in outlines)
    )
    return (drawn, bool(apron.any())), PieceShape(
        name=name,
        count=1,
        draw=draw,
        size_mm=(width + 2.0 * surface.ring_mm, height + 2.0 * surface.ring_mm, depth),
        shadow_mm2=slat_area + rib_area + ring,
        volume_mm3=volume,
        wall_mm=min(max(walls), surface.nominal_mm),
        faces=repeated(len(outlines[0]), count) + repeated(2, spec.rib_count) + RING_FACES,
    )


def _rib_depth(
    spec: VentSpec, slats: Sequence[Slat], low: float, high: float
) -> tuple[float, float]:
    """Return the z (mm) between which ribs go with the piece of a bank from ``low`` to ``high``.

    The gap between two banks is shared; what lies in front of all banks or behind goes with the
    nearest.
    """
    bank, gaps = slats[0].bank, spec.section.stack.gaps_mm
    depths = [z for s in slats for z, _ in s.outline]
    back, front = low, high
    if low <= min(depths) + NEAR_MM:
        back = low - gaps[bank] / 2.0 if bank < len(gaps) else -math.inf
    if high >= max(depths) - NEAR_MM:
        front = high + gaps[bank - 1] / 2.0 if bank else math.inf
    return back, front


def _length_mm(spec: VentSpec, outline: Outline) -> float:
    """Return how long a slat is, over all bays and within the body's outline, mm."""
    y = sum(b for _, b in outline) / len(outline)
    half = spec.body.clear_half_width_mm(y)
    return sum(max(0.0, min(x1, half) - max(x0, -half)) for x0, x1 in spec.bays)
