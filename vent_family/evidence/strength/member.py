"""One member under load, its safety, and what that means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from vent_family.evidence.result import CheckResult

Holding = Literal["holds", "marginal", "weak"]
Place = tuple[tuple[tuple[float, float, float], ...], ...]
"""Lines (x, y, z) in part coordinates, mm."""


def holding(safety: float, least: float) -> Holding:
    """Return whether a member holds.

    It holds with the least safety, is weak where it gives way by its mean strength, and marginal
    between.

    Parameters
    ----------
    safety, least
        its safety, and the least one asked for, ratios

    Examples
    --------
    >>> holding(1.6, 1.5), holding(1.2, 1.5), holding(0.9, 1.5)
    ('holds', 'marginal', 'weak')
    """
    if safety >= least:
        return "holds"
    return "marginal" if safety >= min(least, 1.0) else "weak"


@dataclass(frozen=True, slots=True)
class Member:
    """One member under load.

    ``stress`` is compared with ``strength``, both in ``unit``: stresses in MPa, strains in percent,
    forces, deflections or energies. ``least`` is the safety it needs (1); ``deflection_mm`` is
    ``None`` where nobody asks. A load that a vent is not made for, as that of a spanner or a
    hammer, is told and not ``judged``. ``place`` are lines along what gives way first; none where
    that is the whole part.
    """

    name: str
    load: str
    stress: float
    strength: float
    unit: str
    least: float
    deflection_mm: float | None
    formula: str
    judged: bool = True
    place: Place = ()

    @property
    def safety(self) -> float:
        """Strength over stress, a ratio."""
        return self.strength / self.stress

    @property
    def verdict(self) -> Holding:
        """Whether it holds."""
        return holding(self.safety, self.least)

    def check(self) -> CheckResult:
        """Return the verdict against the least safety.

        Examples
        --------
        >>> slat = Member("slat", "20 N", 12.0, 30.0, "MPa", 2.0, 0.1, "")
        >>> slat.check().verdict, slat.check().message
        ('pass', 'holds: 20 N: 12.0 MPa against 30.0 MPa, gives way by 0.10 mm')
        >>> Member("slat", "20 N", 12.0, 30.0, "MPa", 3.0, None, "").check().verdict
        'fail'
        """
        message = (
            f"{self.verdict}: {self.load}: {_short(self.stress)} {self.unit} against"
            f" {_short(self.strength)} {self.unit}"
        )
        if self.deflection_mm is not None:
            message += f", gives way by {self.deflection_mm:.2f} mm"
        return CheckResult(
            f"strength: {self.name}",
            "pass" if self.verdict == "holds" else "fail",
            message,
            self.safety,
            self.least,
            "1",
        )


def _short(value: float) -> str:
    """Return a number of the member's unit with one decimal, small ones with two digits."""
    return f"{value:.1f}" if abs(value) >= 0.95 else f"{value:.2g}"
