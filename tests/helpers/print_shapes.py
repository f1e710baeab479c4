"""Shapes whose bridges, overhangs and slices are known exactly; all stand on z = 0, mm."""

from __future__ import annotations

import cadquery as cq
import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.printing.bridges import SupportRules
from vent_family.evidence.printing.supports import (
    Finding,
    find_unsupported,
    suspect_layers,
)
from vent_family.geometry.primitives import one_solid
from vent_family.mesh.layers import Layers, layer_plan, slice_layers
from vent_family.mesh.triangles import mesh_of

Mesh = tuple[FloatArray, IntArray]


def box(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> cq.Solid:
    return cq.Solid.makeBox(x[1] - x[0], y[1] - y[0], z[1] - z[0], cq.Vector(x[0], y[0], z[0]))


def fused(*parts: cq.Solid) -> cq.Solid:
    first, *rest = parts
    return one_solid(first.fuse(*rest).clean()) if rest else first


def mesh(shape: cq.Shape, chord_mm: float = 0.01) -> Mesh:
    return mesh_of(shape, chord_mm, 0.1)


def layers_of(body: Mesh, layer_mm: float = 0.2) -> Layers:
    bottoms, heights = layer_plan(float(body[0][:, 2].max()), layer_mm)
    return slice_layers(*body, bottoms, heights)


def findings(
    shape: cq.Shape, layer_mm: float = 0.2, rules: SupportRules | None = None
) -> list[Finding]:
    """Return what a shape's layers do not carry; the short cut must find the same as all layers."""
    rules = rules or SupportRules()
    body = mesh(shape)
    layers = layers_of(body, layer_mm)
    suspects = suspect_layers(*body, layers, rules.overhang_deg)
    found = find_unsupported(layers, rules, suspects)
    everywhere = find_unsupported(layers, rules)
    assert [(f.layer, f.kind) for f in found] == [(f.layer, f.kind) for f in everywhere]
    return found


def prism(outline: list[tuple[float, float]], depth_mm: float) -> cq.Solid:
    """Return the prism of an outline (x, z) along y."""
    wire = cq.Wire.makePolygon([cq.Vector(x, 0.0, z) for x, z in outline], close=True)
    return cq.Solid.extrudeLinear(wire, [], cq.Vector(0.0, depth_mm, 0.0))


def areas(layers: Layers) -> FloatArray:
    return np.asarray(layers.areas_mm2)
