"""The trough of one exposure in lines for people: its level, its air, its blocked drain."""

from __future__ import annotations

from vent_family.evidence.water.blocked import BlockedDrain
from vent_family.evidence.water.drain_air import DrainAir
from vent_family.evidence.water.drainage import DrainageReport
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.verdict import LEVEL_TOLD


def trough_words(e: ExposureReport) -> list[str]:
    """Return what there is to say on the trough under one exposure.

    The level's parts are left out where the verdict has told them.
    """
    told = e.verdict.mechanism in LEVEL_TOLD
    level = "" if told else level_words(e.drainage)
    said = [level, drain_air_words(e.drain_air), blocked_words(e.drain_blocked)]
    return [f"{e.name}: {text}" for text in said if text]


def level_words(report: DrainageReport) -> str:
    """Return the pool's level and its parts, those left out that come to nothing.

    Examples
    --------
    >>> from vent_family.evidence.water.drainage import Trough, drainage
    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=5.0, sill_mm=12.0, bays=2)
    >>> level_words(drainage(trough, 0.8, 60.0, suction_pa=20.0, wind_pa=5.0))
    'pool 9.3 mm over the drain (sill 12.0): surface tension 5.4, fan 1.5, wind 0.5, flow 1.8'
    """
    parts = {
        "surface tension": report.capillary_mm,
        "fan": report.fan_mm,
        "wind": report.wind_mm,
        "other suction": report.extra_mm,
        "lean": report.tilt_mm,
        "flow": report.flow_mm,
    }
    told = ", ".join(f"{name} {mm:.1f}" for name, mm in parts.items() if abs(mm) >= 0.05)
    text = f"pool {report.level_mm:.1f} mm over the drain (sill {report.sill_mm:.1f}): {told}"
    if report.over_apron_l_min >= 0.05:
        text += f"; up to {report.over_apron_l_min:.1f} L/min leave over the apron"
    return text


def drain_air_words(air: DrainAir) -> str:
    """Return what air drawn in through the drain does, nothing where none comes in.

    Examples
    --------
    >>> drain_air_words(DrainAir(4.17, 0.0, True, 0.212, False))
    'air enters the dry drain at 4.2 m/s, drives films up to 0.2 mm up the floor, lets no water out
    until the drain is full'
    >>> drain_air_words(DrainAir(1.33, 0.078, False, 0.064, False)).rpartition(", ")[2]
    'lets up to 0.08 L/min out'
    >>> drain_air_words(DrainAir(0.0, None, False, 0.0, False))
    ''
    """
    limit = air.counter_flow_l_min
    if limit is None:
        return ""
    out = f"lets up to {limit:.2f} L/min out"
    if limit < 0.005:
        out = "lets no water out until the drain is full"
    elif air.flooded:
        out += ", more only once the drain is full"
    drops = ", carries drops along" if air.lifts_drops else ""
    return (
        f"air enters the dry drain at {air.speed_m_s:.1f} m/s{drops}, drives films up to"
        f" {air.blown_film_mm:.1f} mm up the floor, {out}"
    )


def blocked_words(blocked: BlockedDrain) -> str:
    """Return what a blocked drain does.

    Examples
    --------
    >>> from vent_family.evidence.water.blocked import HalfDrain
    >>> holds, fails = HalfDrain("holds", 2.1, 0.7), HalfDrain("fails", -1.2, 0.0)
    >>> blocked_words(BlockedDrain(holds, fails, 600.0))
    'drain blocked over half its width: the trough holds; its lower half blocked: fails; wholly
    blocked: the pool runs over 10 min after the first water'
    """
    late = "the pool never runs over"
    if blocked.full_s is not None:
        late = f"the pool runs over {span(blocked.full_s)} after the first water"
    return (
        f"drain blocked over half its width: {_verb(blocked.half_width.outcome)}; its lower half"
        f" blocked: {blocked.lower_half.outcome}; wholly blocked: {late}"
    )


def span(seconds: float) -> str:
    """Return a time in the unit it is best read in; ``seconds`` in s.

    Examples
    --------
    >>> span(4.23), span(75.0), span(600.0), span(9000.0)
    ('4.2 s', '75 s', '10 min', '2.5 h')
    """
    if seconds < 120.0:
        return f"{seconds:.2g} s"
    if seconds < 7200.0:
        return f"{seconds / 60.0:.2g} min"
    return f"{seconds / 3600.0:.2g} h"


def _verb(outcome: str) -> str:
    return f"the trough {'is marginal' if outcome == 'marginal' else outcome}"
