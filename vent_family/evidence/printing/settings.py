"""The print settings a part is designed for."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from vent_family.base.limits import LAYER_HEIGHT, LAYER_HEIGHT_THREAD, LINE_WIDTH, NOZZLE
from vent_family.base.materials import Material
from vent_family.evidence.printing.supports import SupportRules
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class PrintSettings:
    """Nozzle, bead and layers, mm; ``fine_mm`` holds (from, to, layer height) above the bed."""

    nozzle_mm: float
    line_width_mm: float
    layer_mm: float
    fine_mm: tuple[tuple[float, float, float], ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return asdict(self)

    def text(self) -> str:
        """Return the settings in words."""
        words = (
            f"{self.nozzle_mm:g} mm nozzle, {self.line_width_mm:g} mm lines, layers"
            f" {self.layer_mm:g} mm"
        )
        for low, high, layer in self.fine_mm:
            words += f", {layer:g} mm from {low:.1f} to {high:.1f} mm above the bed"
        return words + ", filled solid, no supports"


def vent_settings(spec: VentSpec, height_mm: float) -> PrintSettings:
    """Return the settings of a vent that stands ``height_mm`` high in print orientation.

    A threaded neck points up from the bed and gets finer layers, so that its flanks print.
    """
    fine: tuple[tuple[float, float, float], ...] = ()
    if spec.body.neck is not None:
        low = height_mm - spec.body.neck.length_mm
        fine = ((low, height_mm, LAYER_HEIGHT_THREAD.value),)
    return PrintSettings(NOZZLE.value, LINE_WIDTH.value, LAYER_HEIGHT.value, fine)


def locknut_settings() -> PrintSettings:
    """Return the settings of a locknut, fine layers all through, washer face up."""
    return PrintSettings(NOZZLE.value, LINE_WIDTH.value, LAYER_HEIGHT_THREAD.value)


def support_rules(material: Material, settings: PrintSettings) -> SupportRules:
    """Return what counts as carried in a material."""
    return SupportRules(
        overhang_deg=material.print_profile.overhang_deg, line_width_mm=settings.line_width_mm
    )
