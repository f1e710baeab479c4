"""Will it print: one body sliced, measured and judged, in plain data and as verdicts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import (
    FEATURE_MIN,
    MARK_STROKE_MIN,
    PRINT_GAP_MIN,
)
from vent_family.base.materials import Material
from vent_family.base.shop import Shop, SlicerSettings
from vent_family.evidence.printing.carried import support_checks, thin_strands
from vent_family.evidence.printing.filled import Filled, filled
from vent_family.evidence.printing.masses import Masses, mass_check, masses
from vent_family.evidence.printing.orientation import AXES, turned
from vent_family.evidence.printing.settings import (
    PrintSettings,
    beside_settings,
    settings_checks,
    support_rules,
    vent_settings,
)
from vent_family.evidence.printing.supports import (
    Finding,
    Kind,
    find_unsupported,
    longest,
    suspect_layers,
)
from vent_family.evidence.printing.time import LayerTimes, layer_times, plate_seconds
from vent_family.evidence.printing.walls import WallFacts, Width, measure_walls
from vent_family.evidence.result import CheckResult
from vent_family.mesh.layers import Layers, layer_plan, slice_layers
from vent_family.spec.vent import VentSpec

KINDS: Final[tuple[Kind, ...]] = ("bridge", "steep", "ledge", "overhang", "floating")


@dataclass(frozen=True, eq=False)
class Printed:
    """One body sliced as it is printed; ``vertices`` stand on the bed, mm."""

    material: Material
    settings: PrintSettings
    vertices: FloatArray
    triangles: IntArray
    filled: Filled
    findings: tuple[Finding, ...]
    times: LayerTimes

    @property
    def layers(self) -> Layers:
        """The body's layers."""
        return self.filled.layers

    @property
    def size_mm(self) -> tuple[float, float, float]:
        """Box on the bed."""
        size = self.vertices.max(axis=0) - self.vertices.min(axis=0)
        return float(size[0]), float(size[1]), float(size[2])

    @property
    def mass_g(self) -> float:
        """Mass of the plastic laid, g."""
        return self.filled.mass_g(self.material.density_g_cm3)

    def of_kind(self, kind: Kind) -> list[Finding]:
        """Return the findings of a kind."""
        return [f for f in self.findings if f.kind == kind]

    def worst_mm(self, kind: Kind) -> float:
        """Return the size of the largest finding of a kind, mm; 0 if there is none."""
        found = longest(self.findings, kind)
        return found.size_mm if found else 0.0

    @property
    def strand_mm(self) -> float | None:
        """Width of the narrowest strand a bridge starts with, mm; ``None`` if none hangs free."""
        narrowest = min((f.strand_mm for f in self.of_kind("bridge")), default=math.inf)
        return _finite(narrowest)

    @property
    def thin_strands(self) -> int:
        """How many bridges start with a strand narrower than two beads."""
        return len(thin_strands(self))

    def seconds(self, shop: Shop, parts: int = 1) -> float:
        """Return the time of a plate with so many of these parts, s."""
        return plate_seconds(self.times.work_s, parts, shop.process)


@dataclass(frozen=True, eq=False)
class PrintReport:
    """The print check of a vent and of what is printed beside it: locknut, frame of a screen.

    ``beside`` holds these by name, each to be printed on plates of its own. ``time_s`` is the time
    of a plate with the vent alone; ``lowest_mm`` the part coordinate of the side that lies on the
    bed, along the axis that points away from it.
    """

    spec: VentSpec
    vent: Printed
    beside: Mapping[str, Printed]
    walls: WallFacts
    time_s: float
    lowest_mm: float

    @cached_property
    def masses(self) -> Masses:
        """The vent's mass by what it is made of."""
        spec = self.spec
        return masses(
            spec.body,
            spec.body.members(spec.section, spec.bays),
            self.vent.filled,
            spec.print_orientation,
            self.lowest_mm,
            spec.material.density_g_cm3,
        )

    def checks(self) -> tuple[CheckResult, ...]:
        """Return the verdicts; every one must pass for the part to be printed as it is."""
        printing = self.vent.settings.printing
        results = [
            *settings_checks(printing),
            *support_checks("print", self.vent),
            *wall_checks(self.spec, self.walls, printing),
        ]
        for name, printed in self.beside.items():
            results += support_checks(f"print, {name}", printed)
        results.append(mass_check(self.masses, self.vent.layers.volume_mm3))
        return tuple(results)

    def findings_summary(self) -> list[dict[str, Any]]:
        """Return, per body and kind, how many places there are and the largest of them."""
        rows = []
        for body, printed in (("vent", self.vent), *self.beside.items()):
            for kind in KINDS:
                found = printed.of_kind(kind)
                worst = longest(found, kind)
                if worst is None:
                    continue
                centre = worst.region.centroid
                rows.append(
                    {
                        "body": body,
                        "kind": kind,
                        "places": len(found),
                        "largest_mm": _finite(worst.size_mm),
                        "at_height_mm": worst.z_mm,
                        "at_x_mm": float(centre.x),
                        "at_y_mm": float(centre.y),
                        "strand_mm": printed.strand_mm if kind == "bridge" else None,
                        "thin_strands": printed.thin_strands if kind == "bridge" else None,
                    }
                )
        return rows


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def sliced(
    vertices: FloatArray,
    triangles: IntArray,
    material: Material,
    settings: PrintSettings,
    shop: Shop,
) -> Printed:
    """Return a body standing on z = 0 sliced, searched for uncarried places and timed.

    ``vertices`` are (n, 3) in mm.
    """
    height = float(vertices[:, 2].max())
    bottoms, heights = layer_plan(height, settings.layer_mm, settings.fine_mm)
    layers = slice_layers(vertices, triangles, bottoms, heights)
    rules = support_rules(material, settings)
    suspects = suspect_layers(vertices, triangles, layers, rules.overhang_deg)
    findings = find_unsupported(layers, rules, suspects)
    inside = filled(layers, settings.printing)
    times = layer_times(inside, settings.printing, shop.process, material.print_profile.flow_mm3_s)
    return Printed(material, settings, vertices, triangles, inside, tuple(findings), times)


def printing_report(
    spec: VentSpec,
    vent: tuple[FloatArray, IntArray],
    beside: Mapping[str, tuple[FloatArray, IntArray]],
    shop: Shop,
) -> PrintReport:
    """Return the print check of a part from its meshes in use position.

    ``vent`` and each of ``beside`` are vertices (n, 3) in mm and triangles (m, 3), watertight. What
    is printed beside the vent lies as it is printed: a locknut's washer face is up.
    """
    vertices, triangles = vent
    standing = turned(vertices, spec.print_orientation)
    settings = vent_settings(spec, float(standing[:, 2].max()), shop)
    printed = sliced(standing, triangles, spec.material, settings, shop)
    others = {}
    for name, (corners, faces) in beside.items():
        raised = corners - np.array([0.0, 0.0, corners[:, 2].min()])
        threaded = spec.body.neck is not None
        own = beside_settings(spec.material, shop, threaded=threaded)
        others[name] = sliced(raised, faces, spec.material, own, shop)
    axis, sign = AXES[spec.print_orientation]
    return PrintReport(
        spec=spec,
        lowest_mm=float(sign * (sign * vertices[:, axis]).min()),
        vent=printed,
        beside=others,
        walls=measure_walls(spec, vertices, triangles),
        time_s=printed.seconds(shop),
    )


def wall_checks(
    spec: VentSpec, walls: WallFacts, printing: SlicerSettings
) -> tuple[CheckResult, ...]:
    """Return whether walls, slats, gaps and mark are thick and wide enough to print.

    They hold the limits of the part family, and those of the shop where its line or nozzle is
    wider: no feature narrower than a line, no gap narrower than the nozzle, no stroke narrower than
    two passes of it.
    """
    designed, nozzle = spec.section.stack.thickness_mm, printing.nozzle_mm
    feature = max(FEATURE_MIN.value, printing.line_width_mm)
    gap = max(PRINT_GAP_MIN.value, nozzle)
    stroke = max(MARK_STROKE_MIN.value, 2.0 * nozzle)
    return (
        _width("print: thinnest wall", walls.wall, feature, "wall", nozzle),
        _slat(walls.slat, designed, feature),
        _width("print: narrowest gap", walls.gap, gap, "gap", nozzle),
        _width("print: mark legible", walls.stroke, stroke, "stroke", nozzle),
        CheckResult(
            "print: no trapped volumes",
            "pass" if walls.shells == 1 else "fail",
            "one closed surface" if walls.shells == 1 else f"{walls.shells} closed surfaces",
            float(walls.shells),
            1.0,
            "1",
        ),
    )


def _width(
    name: str, width: Width | None, limit: float, what: str, nozzle_mm: float
) -> CheckResult:
    if width is None:
        return CheckResult(name, "not_run", f"no {what} was met by the sections", None, limit, "mm")
    nozzles = width.width_mm / nozzle_mm
    return CheckResult(
        name,
        "pass" if width.width_mm >= limit else "fail",
        f"{width.width_mm:.2f} mm, {nozzles:.1f} nozzle widths, at x {width.x_mm:.1f},"
        f" y {width.y_mm:.1f}, z {width.z_mm:.1f} mm",
        width.width_mm,
        limit,
        "mm",
        of_table=True,
    )


_SLAT_TOLERANCE: Final = 0.02


def _slat(width: Width | None, designed: float, feature_mm: float) -> CheckResult:
    name, limit = "print: thinnest slat", designed * (1.0 - _SLAT_TOLERANCE)
    if width is None:
        return CheckResult(name, "not_run", "no slat was met by the sections", None, limit, "mm")
    good = width.width_mm >= limit and width.width_mm >= feature_mm
    return CheckResult(
        name,
        "pass" if good else "fail",
        f"{width.width_mm:.2f} mm measured, {designed:g} mm designed",
        width.width_mm,
        max(limit, feature_mm),
        "mm",
        of_table=width.width_mm >= limit,
    )
