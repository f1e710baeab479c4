"""Verdicts on what is carried: supports, bridges, and the strands they start with."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from vent_family.base.limits import LAYERS_VOLUME
from vent_family.evidence.printing.supports import NEEDS_SUPPORT, Finding
from vent_family.evidence.result import CheckResult
from vent_family.mesh.triangles import mesh_volume_mm3

if TYPE_CHECKING:
    from vent_family.evidence.printing.report import Printed

_STRAND_SLACK_MM: Final = 0.005
"""Strands are measured on slices; so much is rounding."""


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
            of_table=True,
        ),
        CheckResult(
            f"{name}: longest bridge",
            "pass" if span <= profile.bridge_max_mm else "fail",
            f"{bridges} bridges, the longest {span:.1f} mm{note}" if bridges else "no bridges",
            span,
            profile.bridge_max_mm,
            "mm",
            of_table=True,
        ),
        strand_check(name, printed),
    )


def strand_check(name: str, printed: Printed) -> CheckResult:
    """Return whether every bridge starts with two beads of the line width it is printed with."""
    thin = thin_strands(printed)
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
        _two_beads_mm(printed),
        "mm",
        of_table=True,
    )


def thin_strands(printed: Printed) -> list[Finding]:
    """Return the bridges that start with a strand narrower than two beads."""
    return [f for f in printed.of_kind("bridge") if is_thin(f, printed)]


def is_thin(bridge: Finding, printed: Printed) -> bool:
    """Tell whether the strand a bridge starts with is too narrow, as measured on slices."""
    return bridge.strand_mm < _two_beads_mm(printed) - _STRAND_SLACK_MM


def _two_beads_mm(printed: Printed) -> float:
    return 2.0 * printed.settings.line_width_mm


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
