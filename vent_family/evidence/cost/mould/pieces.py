"""The pieces a part is moulded as, from its undercuts.

The rule, as a mould designer works: if one mould frees the part, with slides and turning cores
where it needs them, the part is one piece. If not, every bank of slats becomes a grille of its own,
its ribs and a ring around it, and what stays is the shell. The apron above the drain would hold
the trough behind it: it goes with the outermost grille, or is a strip by itself where the grille
would not come out with it. A grille that no way of opening in the section's plane frees is cut into
the leaves of its slats, and at worst into single slats. A shell that is not freed is cut in two,
square to the depth where that helps most; what is caught even then takes lifters. Draught is not
drawn: it changes no way out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
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
    NEAR_MM,
    RIBS,
    SHELL,
    THREAD,
    bank_name,
    nut_regions,
    on_outline,
    outlines_shape,
    regions,
)
from vent_family.evidence.cost.mould.samples import Samples, open_ways, sampled
from vent_family.evidence.cost.mould.shape import (
    PieceShape,
    part_of_body,
    plastic,
    repeated,
    shadow_mm2,
    size_mm,
)
from vent_family.spec.forms import Outline
from vent_family.spec.section import Slat
from vent_family.spec.vent import VentSpec

RING_FACES: Final = 8
"""Faces of a ring: four outside, four inside."""
STRIP_FACES: Final = 6.0
"""Faces of a strip."""
PLANES: Final = 7
"""So many planes are tried to cut a shell in two."""


@dataclass(frozen=True, slots=True)
class Split:
    """What mould makers find: undercuts by way of opening, and the pieces the part takes."""

    undercuts: tuple[Undercut, ...]
    pieces: tuple[PieceShape, ...]


@dataclass(frozen=True, eq=False)
class _Surface:
    """The vent's sampled surface with its regions; nominal wall and ring, mm."""

    spec: VentSpec
    mesh: tuple[FloatArray, IntArray]
    samples: Samples
    names: ObjectArray
    nominal_mm: float
    ring_mm: float


def split_part(
    spec: VentSpec,
    vent: tuple[FloatArray, IntArray],
    beside: Mapping[str, tuple[FloatArray, IntArray]],
    *,
    nominal_mm: float,
    ring_mm: float,
) -> Split:
    """Return the pieces a vent and what goes with it are moulded as.

    Parameters
    ----------
    spec
        the vent
    vent, beside
        meshes, the vent's in use position, others by name: vertices (n, 3) in mm and triangles
        (m, 3), closed
    nominal_mm
        wall thickness to which thicker walls are cored, mm
    ring_mm
        width of the ring that holds a bank of slats together, mm
    """
    samples = sampled(*vent)
    names = regions(spec, samples)
    ways = open_ways(*vent, samples)
    surface = _Surface(spec, vent, samples, names, nominal_mm, ring_mm)
    undercuts = tuple(undercut(samples, ways, names, axis) for axis in range(3))
    draw = best_draw(samples, ways, names)
    if draw.free:
        pieces = [part_of_body("vent", vent, samples, ways, draw, nominal_mm)]
    else:
        pieces = [*_shell(surface), *_grilles(surface)]
    pieces += [_beside(spec, name, mesh, nominal_mm) for name, mesh in beside.items()]
    return Split(undercuts, tuple(pieces))


def _shell(surface: _Surface) -> list[PieceShape]:
    """Return the shell, in one piece or in two."""
    banks = [bank_name(b) for b in range(surface.spec.section.stack.bank_count)]
    kept = ~np.isin(surface.names.astype(str), [*banks, RIBS, APRON])
    one = [("shell", kept, *_leaving(surface, kept))]
    pieces = one if one[0][3].free else min((one, *_halves(surface, kept)), key=_left_mm2)
    return [
        part_of_body(name, surface.mesh, surface.samples.of(part), ways, draw, surface.nominal_mm)
        for name, part, ways, draw in pieces
    ]


_Cut = list[tuple[str, BoolArray, BoolArray, Draw]]
"""Pieces of a shell: name, which samples, what they see past themselves, how they come out."""


def _halves(surface: _Surface, kept: BoolArray) -> Iterator[_Cut]:
    """Yield the halves of a shell cut square to the depth, at one plane after another."""
    depth = surface.samples.points_mm[:, 2]
    low, high = depth[kept].min(), depth[kept].max()
    for plane in np.linspace(low, high, PLANES + 2)[1:-1]:
        sides = [("back shell", kept & (depth < plane)), ("front shell", kept & (depth >= plane))]
        yield [(name, side, *_leaving(surface, side)) for name, side in sides]


def _left_mm2(cut: _Cut) -> float:
    """Return what is caught in pieces (mm2), a slide or a second piece being worth a little."""
    return sum(d.left_mm2 + SMALL_MM2 * (1 + len(d.slides)) for _, _, _, d in cut)


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


def _beside(
    spec: VentSpec, name: str, mesh: tuple[FloatArray, IntArray], nominal_mm: float
) -> PieceShape:
    """Return a body beside the vent; a core that unscrews makes the thread of those on a neck."""
    samples = sampled(*mesh)
    ways = open_ways(*mesh, samples)
    if spec.body.neck is None:
        draw = best_draw(samples, ways, np.full(len(samples), SHELL, dtype=object))
    else:
        names = nut_regions(spec.body.neck.thread, samples)
        draw = best_draw(samples, ways, names, frozenset((THREAD,)))
    return part_of_body(name, mesh, samples, ways, draw, nominal_mm)


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
    """Return the pieces of a bank: one grille, or its leaves, or single slats.

    The outermost bank has the apron, which is a strip by itself where it would be in the way.
    """
    for apron in (True, False) if bank == 0 else (False,):
        for groups in ([[s.outline for s in slats]], _leaf_groups(slats)):
            # Of slats without a fold the leaves are the slats.
            found = _all_free(surface, bank, groups, slats, apron=apron)
            if found:
                return found if apron or bank else [*found, _apron(surface)]
    longest = max((s.outline for s in slats), key=lambda o: Polygon(o).area)
    grille = _Grille(surface, bank, (longest,), False)
    key, piece = grille.shape(f"slats of grille {bank + 1}", grille.way_out(), slats[:1])
    singles: tuple[object, PieceShape] = (key, replace(piece, count=len(slats)))
    return [singles, _apron(surface)] if bank == 0 else [singles]


def _all_free(
    surface: _Surface,
    bank: int,
    groups: Sequence[Sequence[Outline]],
    slats: Sequence[Slat],
    *,
    apron: bool,
) -> list[tuple[object, PieceShape]]:
    """Return the grilles of groups of slats or leaves, from outside in; none if one is caught."""
    found = []
    for at, outlines in enumerate(groups):
        grille = _Grille(surface, bank, tuple(outlines), apron and at == 0)
        draw = grille.way_out()
        if not draw.free:
            return []
        letter = chr(ord("a") + at) if len(groups) > 1 else ""
        found.append(grille.shape(f"grille {bank + 1}{letter}", draw, slats))
    return found


def _apron(surface: _Surface) -> tuple[object, PieceShape]:
    """Return the apron as a strip; being convex it leaves any mould."""
    own = surface.names == APRON
    samples = surface.samples.of(own)
    width, height, depth = size_mm(samples, 2)
    volume, wall = plastic(surface.mesh, samples, surface.nominal_mm)
    return APRON, PieceShape(
        name=APRON,
        count=1,
        draw=Draw("z"),
        size_mm=(width, height, depth),
        shadow_mm2=width * height,
        volume_mm3=volume,
        wall_mm=wall,
        faces=STRIP_FACES,
    )


def _leaf_groups(slats: Sequence[Slat]) -> list[list[Outline]]:
    """Return the leaves of a bank from outside in: those of the same depth together.

    Slats that are cut short have leaves, too: their convex pieces.
    """
    most = max(slats, key=lambda s: len(s.pieces)).pieces
    depths = sorted((_depth(leaf) for leaf in most), reverse=True)
    groups: list[list[Outline]] = [[] for _ in depths]
    for slat in slats:
        for leaf in slat.pieces:
            nearest = int(np.argmin([abs(_depth(leaf) - d) for d in depths]))
            groups[nearest].append(leaf)
    return groups


def _depth(outline: Outline) -> float:
    return sum(z for z, _ in outline) / len(outline)


def _leans(outlines: Sequence[Outline]) -> list[float]:
    """Return the ways of opening that are tried, degrees from +z: z first, then the sides'."""
    found = set()
    for outline in outlines:
        for (z0, y0), (z1, y1) in zip(outline, [*outline[1:], outline[0]], strict=True):
            angle = math.degrees(math.atan2(y1 - y0, z1 - z0))
            found.add(round((angle + 90.0) % 180.0 - 90.0, 1))
    return [0.0, *sorted(found - {0.0}, key=abs)]


@dataclass(frozen=True, eq=False)
class _Grille:
    """Slats or leaves of a bank that are moulded together; one takes the apron."""

    surface: _Surface
    bank: int
    outlines: tuple[Outline, ...]
    apron: bool

    @cached_property
    def own(self) -> BoolArray:
        """Which samples of the vent it takes, ribs not counted."""
        on = on_outline(outlines_shape(self.outlines), self.surface.samples)
        own = on & (self.surface.names == bank_name(self.bank))
        if self.apron:
            own |= self.surface.names == APRON
        return np.asarray(own)

    def way_out(self) -> Draw:
        """Return how it leaves its mould: along z, or along one of its slats' own sides."""
        samples, names = self.surface.samples.of(self.own), self.surface.names[self.own]
        draws = []
        for lean in _leans(self.outlines):
            turned = samples.leaning(lean)
            ways = open_ways(*turned.mesh, turned, (2,))
            draws.append(replace(draw_along(turned, ways, names, 2), lean_deg=lean))
            if draws[-1].free:
                break
        return min(draws, key=lambda d: d.left_mm2)

    def shape(self, name: str, draw: Draw, slats: Sequence[Slat]) -> tuple[object, PieceShape]:
        """Return it with its share of the ribs and its ring, and what makes it equal another."""
        surface = self.surface
        spec, s = surface.spec, surface.samples
        zs = [z for o in self.outlines for z, _ in o]
        low, high = _rib_depth(spec, slats, min(zs), max(zs))
        z = s.points_mm[:, 2]
        ribs = (surface.names == RIBS) & (np.abs(s.normals[:, 0]) > 0.9) & (z >= low) & (z < high)
        volume = sum(Polygon(o).area * _length_mm(spec, o) for o in self.outlines)
        for part in (ribs, self.own & (surface.names == APRON)):
            volume += plastic(surface.mesh, s.of(part), surface.nominal_mm)[0]
        turned = s.of(self.own).leaning(draw.lean_deg)
        width, height, depth = size_mm(turned, 2)
        ring = 2.0 * (width + height) * surface.ring_mm
        volume += ring * (max(zs) - min(zs))
        slat_area = shadow_mm2(turned, open_ways(*turned.mesh, turned, (2,)), 2)
        rib_area = spec.rib_count * spec.rib_thickness_mm * height
        count = len(self.outlines) * len(spec.bays)
        walls = [spec.section.stack.thickness_mm, surface.ring_mm]
        walls += [spec.rib_thickness_mm] if spec.rib_count else []
        middle = (min(zs) + max(zs)) / 2.0
        drawn = tuple(
            sorted(tuple((round(a - middle, 2), round(b, 2)) for a, b in o) for o in self.outlines)
        )
        around = 2.0 * surface.ring_mm
        faces = repeated(len(self.outlines[0]), count) + repeated(2, spec.rib_count)
        return (drawn, self.apron), PieceShape(
            name=name,
            count=1,
            draw=draw,
            size_mm=(width + around, height + around, depth),
            shadow_mm2=slat_area + rib_area + ring,
            volume_mm3=volume,
            wall_mm=min(max(walls), surface.nominal_mm),
            faces=faces + RING_FACES,
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
