"""Will it print: one body sliced, measured and judged, in plain data and as verdicts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import (
    FEATURE_MIN,
    LAYERS_VOLUME,
    MARK_STROKE_MIN,
    PRINT_GAP_MIN,
    STRAND_MIN,
)
from vent_family.base.materials import Material
from vent_family.base.shop import Shop, SlicerSettings
from vent_family.evidence.printing.filled import Filled, filled
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.settings import (
    PrintSettings,
    locknut_settings,
    settings_checks,
    support_rules,
    vent_settings,
)
from vent_family.evidence.printing.supports import (
    NEEDS_SUPPORT,
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
from vent_family.mesh.triangles import mesh_volume_mm3
from vent_family.spec.vent import VentSpec

KINDS: Final[tuple[Kind, ...]] = ("bridge", "steep", "ledge", "overhang", "floating")
_STRAND_SLACK_MM: Final = 0.005
"""Strands are measured on slices; so much is rounding."""


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
        return self.filled.volume_mm3 * self.material.density_g_cm3 * 1e-3

    @property
    def solid_mass_g(self) -> float:
        """Mass of the layers if they were filled solid, g."""
        return self.layers.volume_mm3 * self.material.density_g_cm3 * 1e-3

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
        """How many bridges start with a strand narrower than parts are designed for."""
        least = STRAND_MIN.value - _STRAND_SLACK_MM
        return sum(f.strand_mm < least for f in self.of_kind("bridge"))

    def seconds(self, shop: Shop, parts: int = 1) -> float:
        """Return the time of a plate with so many of these parts, s."""
        return plate_seconds(self.times.work_s, parts, shop.process)


@dataclass(frozen=True, eq=False)
class PrintReport:
    """The print check of a vent and, where it has one, of its locknut.

    ``time_s`` is the time of a plate with the vent alone.
    """

    spec: VentSpec
    vent: Printed
    locknut: Printed | None
    walls: WallFacts
    time_s: float

    def checks(self) -> tuple[CheckResult, ...]:
        """Return the verdicts; every one must pass for the part to be printed as it is."""
        printing = self.vent.settings.printing
        results = [
            *settings_checks(printing),
            *support_checks("print", self.vent),
            *wall_checks(self.spec, self.walls, printing),
        ]
        if self.locknut is not None:
            results += support_checks("print, locknut", self.locknut)
        return tuple(results)

    def findings_summary(self) -> list[dict[str, Any]]:
        """Return, per body and kind, how many places there are and the largest of them."""
        rows = []
        for body, printed in (("vent", self.vent), ("locknut", self.locknut)):
            if printed is None:
                continue
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
    locknut: tuple[FloatArray, IntArray] | None,
    shop: Shop,
) -> PrintReport:
    """Return the print check of a part from its meshes in use position.

    ``vent`` and ``locknut`` are each vertices (n, 3) in mm and triangles (m, 3), watertight. The
    locknut's mesh has its washer face up, at z = 0, as it is printed.
    """
    vertices, triangles = vent
    standing = turned(vertices, spec.print_orientation)
    settings = vent_settings(spec, float(standing[:, 2].max()), shop)
    printed = sliced(standing, triangles, spec.material, settings, shop)
    nut = None
    if locknut is not None:
        raised = locknut[0] - np.array([0.0, 0.0, locknut[0][:, 2].min()])
        nut = sliced(raised, locknut[1], spec.material, locknut_settings(spec.material, shop), shop)
    return PrintReport(
        spec=spec,
        vent=printed,
        locknut=nut,
        walls=measure_walls(spec, vertices, triangles),
        time_s=printed.seconds(shop),
    )


def support_checks(name: str, printed: Printed) -> tuple[CheckResult, ...]:
    """Return whether a body prints without supports, and how far it bridges and hangs over."""
    profile = printed.material.print_profile
    needing = [f for f in printed.findings if f.kind in NEEDS_SUPPORT]
    span = printed.worst_mm("bridge")
    bridges = len(printed.of_kind("bridge"))
    note = "" if span <= profile.bridge_good_mm else ", longer than prints cleanly"
    volume = mesh_volume_mm3(printed.vertices, printed.triangles)
    error = abs(printed.layers.volume_mm3 / volume - 1.0)
    return (
        CheckResult(
            f"{name}: slices against volume",
            "pass" if error <= LAYERS_VOLUME.value else "fail",
            f"{len(printed.layers.regions)} layers sum to {printed.layers.volume_mm3:.0f} mm3,"
            f" the mesh holds {volume:.0f} mm3",
            error,
            LAYERS_VOLUME.value,
            "1",
        ),
        CheckResult(
            f"{name}: no supports",
            "fail" if needing else "pass",
            _needing_text(needing)
            if needing
            else f"every layer is carried, bridged or within {_steps(printed)}",
            float(len(needing)),
            0.0,
            "1",
        ),
        CheckResult(
            f"{name}: longest bridge",
            "pass" if span <= profile.bridge_max_mm else "fail",
            f"{bridges} bridges, the longest {span:.1f} mm{note}" if bridges else "no bridges",
            span,
            profile.bridge_max_mm,
            "mm",
        ),
        strand_check(name, printed),
    )


def strand_check(name: str, printed: Printed) -> CheckResult:
    """Return whether every bridge starts with two beads of the line width it is printed with."""
    least = 2.0 * printed.settings.line_width_mm
    thin = [f for f in printed.of_kind("bridge") if f.strand_mm < least - _STRAND_SLACK_MM]
    words = "no bridge hangs free between its sides"
    if printed.strand_mm is not None:
        words = f"the narrowest strand that a bridge starts with is {printed.strand_mm:.2f} mm"
    if thin:
        worst = min(thin, key=lambda f: f.strand_mm)
        x, y = worst.region.centroid.coords[0]
        words = (
            f"will not print: {_counted(len(thin))} with a strand below two beads, the narrowest"
            f" {worst.strand_mm:.2f} mm wide and {worst.span_mm:.1f} mm long,"
            f" {worst.z_mm:.1f} mm above the bed at x {x:.1f}, y {y:.1f} mm"
        )
    return CheckResult(
        f"{name}: strands of two beads",
        "fail" if thin else "pass",
        words,
        printed.strand_mm,
        least,
        "mm",
    )


def _counted(bridges: int) -> str:
    return "1 bridge starts" if bridges == 1 else f"{bridges} bridges start"


def _steps(printed: Printed) -> str:
    steep = max((f.angle_deg for f in printed.of_kind("steep")), default=0.0)
    ledge = printed.worst_mm("ledge")
    words = [f"the {printed.material.print_profile.overhang_deg:g} degree limit"]
    if steep:
        words.append(f"half a bead of the layer below (slopes up to {steep:.0f} degrees)")
    if ledge:
        words.append(f"a single step of {ledge:.2f} mm")
    return " or ".join(words)


def _needing_text(needing: list[Finding]) -> str:
    worst = max(needing, key=lambda f: f.area_mm2)
    x, y = worst.region.centroid.coords[0]
    what = "starts in mid-air" if worst.kind == "floating" else f"hangs {worst.reach_mm:.1f} mm out"
    return (
        f"{len(needing)} places need supports; the largest, {worst.area_mm2:.1f} mm2, {what}"
        f" {worst.z_mm:.1f} mm above the bed at x {x:.1f}, y {y:.1f} mm"
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
    )
