"""The six ways to lay a part on the bed, compared by what each would cost."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.materials import Material
from vent_family.base.shop import Shop
from vent_family.evidence.printing.filled import Filled, filled
from vent_family.evidence.printing.supports import (
    NEEDS_SUPPORT,
    Finding,
    SupportRules,
    find_unsupported,
    longest,
    suspect_layers,
)
from vent_family.evidence.printing.time import layer_times
from vent_family.mesh.layers import Layers, slice_layers
from vent_family.mesh.regions import EMPTY, Region

AXES: Final[dict[str, tuple[int, int]]] = {
    # name: the axis of the part that points up from the bed, and its sign
    "face_down": (2, -1),
    "face_up": (2, 1),
    "upright": (1, 1),
    "top_down": (1, -1),
    "left_down": (0, 1),
    "right_down": (0, -1),
}
SLICE_MM: Final = 1.0
"""Slices of the comparison: coarse, since only the differences between the ways count."""
SLICE_COUNT_MAX: Final = 80


@dataclass(frozen=True, slots=True)
class OrientationCost:
    """One way of printing; lengths in mm, areas mm2, volumes mm3, times s.

    ``support_mm3`` is the space below everything that needs support; ``scars_mm2`` the area that
    would rest on supports. ``slat_lines`` says how the layer lines lie in the slats: ``lengthwise``
    or ``across``. ``cost`` is machine time and material, supports counted as solid, in the shop's
    money; taking them off by hand is not in it.
    """

    name: str
    height_mm: float
    base_mm2: float
    bridge_mm: float
    scars_mm2: float
    support_mm3: float
    time_s: float
    slat_lines: str
    cost: float

    @property
    def needs_support(self) -> bool:
        """True if anything needs a support."""
        return self.scars_mm2 > 0.0


def turned(vertices: FloatArray, name: str) -> FloatArray:
    """Return vertices (n, 3), mm, turned so that the named way stands on z = 0; no mirroring.

    Examples
    --------
    >>> corners = np.array([[1.0, 2, 3], [4, 5, 9]])
    >>> turned(corners, "face_down").tolist()
    [[1.0, -2.0, 6.0], [4.0, -5.0, 0.0]]
    """
    axis, sign = AXES[name]
    result = np.roll(vertices, 2 - axis, axis=1)
    if sign < 0:
        result = result * np.array([1.0, -1.0, -1.0])
    result[:, 2] -= result[:, 2].min()
    return np.asarray(result, dtype=np.float64)


def compare(
    vertices: FloatArray,
    triangles: IntArray,
    material: Material,
    shop: Shop,
) -> tuple[OrientationCost, ...]:
    """Return all six ways for a part in use position, in the order of :data:`AXES`.

    ``vertices`` are (n, 3) in mm.
    """
    return tuple(_cost(name, turned(vertices, name), triangles, material, shop) for name in AXES)


def _cost(
    name: str,
    vertices: FloatArray,
    triangles: IntArray,
    material: Material,
    shop: Shop,
) -> OrientationCost:
    profile, process, printing = material.print_profile, shop.process, shop.printing
    layer_mm, line_width_mm = printing.layer_mm, printing.line_width_mm
    height = float(vertices[:, 2].max())
    step = max(SLICE_MM, height / SLICE_COUNT_MAX)
    count = math.ceil(height / step)
    edges = np.linspace(0.0, height, count + 1)
    layers = slice_layers(vertices, triangles, edges[:-1], np.diff(edges))
    rules = SupportRules(
        overhang_deg=profile.overhang_deg,
        line_width_mm=line_width_mm,
        crumb_width_mm=line_width_mm,
        crumb_area_mm2=1.0,
        turn_deg=90.0,
    )
    suspects = suspect_layers(vertices, triangles, layers, profile.overhang_deg)
    findings = find_unsupported(layers, rules, suspects)
    bridge = longest(findings, "bridge")
    failing = [
        f
        for f in findings
        if f.kind in NEEDS_SUPPORT or (f.kind == "bridge" and f.span_mm > profile.bridge_max_mm)
    ]
    # The real layers are thinner than these slices: as many of them as fit, each as here; skins are
    # as many slices thick as their layers make, one at least.
    skins = {
        name: max(1, round(getattr(printing, name) * layer_mm * count / height))
        for name in ("top_layers", "bottom_layers")
    }
    inside = filled(layers, printing.model_copy(update=skins))
    thin = Layers(layers.bottoms_mm, np.full(count, layer_mm), layers.regions)
    body = Filled(thin, inside.wall_mm2, inside.core_mm2, printing.infill_share)
    work = layer_times(body, printing, process, profile.flow_mm3_s).work_s
    each = np.maximum(work, process.layer_min_s) + process.layer_change_s
    time_s = float(each.sum() * (height / count) / layer_mm)
    supports = support_volume_mm3(layers, failing)
    grams = (inside.volume_mm3 + supports) * material.density_g_cm3 * 1e-3
    # Horizontal slats run along x: any bed but the part's own sides has their lines lengthwise.
    return OrientationCost(
        name=name,
        height_mm=height,
        base_mm2=float(layers.regions[0].area),
        bridge_mm=bridge.span_mm if bridge else 0.0,
        scars_mm2=float(sum(f.area_mm2 for f in failing)),
        support_mm3=supports,
        time_s=time_s,
        slat_lines="across" if AXES[name][0] == 0 else "lengthwise",
        cost=time_s / 3600.0 * shop.machine.hour_rate
        + grams * shop.material.per_kg(material.name) / 1000.0,
    )


def support_volume_mm3(layers: Layers, failing: list[Finding]) -> float:
    """Return the space (mm3) between what needs support and the part or bed straight below."""
    by_layer: dict[int, list[Region]] = {}
    for finding in failing:
        by_layer.setdefault(finding.layer, []).append(finding.region)
    volume = 0.0
    column: Region = EMPTY
    for i in range(max(by_layer, default=0), 0, -1):
        if i in by_layer:
            column = shapely.union_all([column, *by_layer[i]])
        if column.is_empty:
            continue
        column = column.difference(layers.regions[i - 1])
        volume += float(column.area * layers.heights_mm[i - 1])
    return volume
