"""How a body is printed: the shop's settings, and where its layers are finer."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.base.limits import SHELL_LINES_MIN
from vent_family.base.materials import Material
from vent_family.base.shop import Shop, SlicerSettings, Temperature
from vent_family.evidence.printing.bridges import SupportRules
from vent_family.evidence.result import CheckResult
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class PrintSettings:
    """The shop's settings, its temperatures for the material, and the layers of one body.

    ``layer_mm`` is the height of its layers, mm; ``fine_mm`` holds (from, to, layer height) above
    the bed, mm.
    """

    printing: SlicerSettings
    temperature: Temperature
    layer_mm: float
    fine_mm: tuple[tuple[float, float, float], ...] = ()

    @property
    def nozzle_mm(self) -> float:
        """Bore of the nozzle, mm."""
        return self.printing.nozzle_mm

    @property
    def line_width_mm(self) -> float:
        """Width of a laid line, mm."""
        return self.printing.line_width_mm

    def text(self) -> str:
        """Return the settings in words."""
        words = (
            f"{self.nozzle_mm:g} mm nozzle, {self.line_width_mm:g} mm lines, layers"
            f" {self.layer_mm:g} mm"
        )
        for low, high, layer in self.fine_mm:
            words += f", {layer:g} mm from {low:.1f} to {high:.1f} mm above the bed"
        return f"{words}, {self._filling()}, no supports, {self.temperature.text()}"

    def _filling(self) -> str:
        """Return in words what is inside the walls."""
        found = self.printing
        if not found.sparse:
            return "filled solid"
        return (
            f"{counted(found.wall_count, 'wall')}, {found.top_layers} top and"
            f" {found.bottom_layers} bottom layers, cores filled to"
            f" {100.0 * found.infill_share:g} %"
        )


def counted(number: int, noun: str) -> str:
    """Return a number with its noun, in the singular for one.

    Examples
    --------
    >>> counted(1, "line"), counted(3, "line")
    ('1 line', '3 lines')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def shell_words(wall_count: int) -> str:
    """Return in a sentence whether so many lines of wall keep water out of sparse cores.

    Examples
    --------
    >>> shell_words(1)
    '1 line of wall will not keep water out of the cores: 2 would (common practice, no source).'
    """
    least = SHELL_LINES_MIN
    lines = f"{counted(wall_count, 'line')} of wall"
    if wall_count >= least.value:
        return (
            f"{lines} keep water out of the cores; fewer than {least.value:g} would not"
            f" ({least.source})."
        )
    return f"{lines} will not keep water out of the cores: {least.value:g} would ({least.source})."


def vent_settings(spec: VentSpec, height_mm: float, shop: Shop) -> PrintSettings:
    """Return the settings of a vent that stands ``height_mm`` high in print orientation.

    A threaded neck points up from the bed and gets finer layers, so that its flanks print.
    """
    printing = shop.printing
    fine: tuple[tuple[float, float, float], ...] = ()
    if spec.body.neck is not None:
        low = height_mm - spec.body.neck.length_mm
        fine = ((low, height_mm, printing.thread_layer_mm),)
    return PrintSettings(printing, shop.temperature.of(spec.material.name), printing.layer_mm, fine)


def beside_settings(material: Material, shop: Shop, *, threaded: bool) -> PrintSettings:
    """Return the settings of what is printed beside a vent.

    Locknuts and rings are ``threaded``: fine layers all through.
    """
    printing = shop.printing
    layer = printing.thread_layer_mm if threaded else printing.layer_mm
    return PrintSettings(printing, shop.temperature.of(material.name), layer)


def support_rules(material: Material, settings: PrintSettings) -> SupportRules:
    """Return what counts as carried in a material."""
    return SupportRules(
        overhang_deg=material.print_profile.overhang_deg, line_width_mm=settings.line_width_mm
    )


def settings_checks(printing: SlicerSettings) -> tuple[CheckResult, ...]:
    """Return whether the parts are designed for a shop's settings, and whether walls hold water."""
    coarse = printing.beyond_design()
    words = "; ".join(
        f"{name} {value:g} mm, the parts are designed for at most {limit.value:g} mm"
        for name, value, limit in coarse
    )
    lines, least = printing.wall_count, SHELL_LINES_MIN.value
    tight = not printing.sparse or lines >= least
    return (
        CheckResult(
            "print: settings the parts are designed for",
            "fail" if coarse else "pass",
            words or "nozzle, lines and layers are no coarser than the parts are designed for",
            float(len(coarse)),
            0.0,
            "1",
            of_table=True,
        ),
        CheckResult(
            "print: walls hold water",
            "pass" if tight else "fail",
            f"{counted(lines, 'line')} around cores that are not filled solid"
            if printing.sparse
            else "filled solid",
            float(lines),
            least if printing.sparse else 1.0,
            "1",
            of_table=True,
        ),
    )
