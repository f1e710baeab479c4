"""The way of the air through a vent as its record states it, and restored from there.

A record states what the losses are made of: the slats' over the Reynolds number with the ends of
what is known of them, and the mouths, the drain and the screen. From these the resistance follows
at any flow, in any air, half clogged, and at either end of its band, with no catalogue and no model
of slats at hand: a released part keeps the air it was released with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated, Any, Final

import numpy as np
from pydantic import BaseModel

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.frozen import Frozen
from vent_family.evidence.air.airway import AirPath, Direction, Mouth
from vent_family.evidence.air.losses import (
    bands,
    beyond_numbers,
    beyond_stacks,
    calibrated_numbers,
)
from vent_family.evidence.air.resistance import VentAir
from vent_family.evidence.air.screens import ScreenLoss, screen_k
from vent_family.evidence.air.state import AirState
from vent_family.evidence.air.three_d import STEADY_RE
from vent_family.evidence.facts import Fact

STRAIGHT: Final = 4e-4
"""How far a curve may lie from the straight lines between its rows, in natural logarithms."""
DIGITS: Final = 6
"""Significant digits of what is stated, so that rounding is no part of it."""
NUMBERS: Final = (1e-2, 1e5)
"""Reynolds numbers (1) from which up to which curves are stated; beyond, their ends go on."""
_STEP: Final = 1e-4
"""How near to a step, as a share, rows stand on both sides of it."""
_SLATS: Final = ("slats",)


class SlatPoint(Frozen):
    """Loss of the slats at one Reynolds number; between rows straight in logarithms of both."""

    reynolds: Annotated[float, Fact("on passage width and velocity between slats", "1")]
    k: Annotated[float, Fact("loss, on the velocity in the face of the slats", "1")]
    k_low: Annotated[float, Fact("its lower end", "1")]
    k_high: Annotated[float, Fact("its upper end", "1")]


class MouthRecord(Frozen):
    """A loss in series with the slats."""

    name: Annotated[str, Fact("where")]
    k: Annotated[float, Fact("loss, on the velocity in its area", "1")]
    area_mm2: Annotated[float, Fact("its area", "mm2")]
    length_mm: Annotated[float, Fact("length of a smooth pipe, whose friction is added", "mm")]
    diameter_mm: Annotated[float, Fact("its diameter", "mm")]


class ScreenLossPoint(Frozen):
    """Loss of the screen at one Reynolds number; between rows straight in logarithms of both."""

    reynolds: Annotated[float, Fact("on length_mm and the velocity before the screen", "1")]
    k: Annotated[float, Fact("loss, on the velocity before the screen", "1")]


class ScreenLossRecord(Frozen):
    """The insect screen behind all of it."""

    window_mm2: Annotated[float, Fact("its area", "mm2")]
    length_mm: Annotated[float, Fact("its wire over its open share", "mm")]
    points: Annotated[list[ScreenLossPoint], Fact("its loss")]


class PathRecord(Frozen):
    """What the losses along the way of the air are made of, one after the other.

    Slats and drain lie side by side: the air parts so that both take the same pressure.
    """

    face_mm2: Annotated[float, Fact("face of the slats' banks", "mm2")]
    pitch_mm: Annotated[float, Fact("height from slat to slat", "mm")]
    passage_mm: Annotated[float, Fact("clear width between two slats", "mm")]
    slats: Annotated[list[SlatPoint], Fact("loss of all banks")]
    first_reynolds: Annotated[float, Fact("from here on the loss was solved for", "1")]
    last_reynolds: Annotated[float, Fact("up to here", "1")]
    beyond: Annotated[list[str], Fact("where the slats lie outside what was solved")]
    drain_mm2: Annotated[float, Fact("area of the drain", "mm2")]
    drain_k: Annotated[float, Fact("loss of the dry drain, on the velocity in its area", "1")]
    entry_in: Annotated[list[MouthRecord], Fact("before the slats, drawing in")]
    leave_in: Annotated[list[MouthRecord], Fact("behind the slats, drawing in")]
    entry_out: Annotated[list[MouthRecord], Fact("before the slats, blowing out")]
    leave_out: Annotated[list[MouthRecord], Fact("behind the slats, blowing out")]
    screen: Annotated[ScreenLossRecord | None, Fact("null: it has none")]
    fan_frame_mm: Annotated[float | None, Fact("side of the fan that it holds", "mm")]


@dataclass(frozen=True)
class Table:
    """Values over Reynolds numbers, straight in logarithms of both, beyond the ends as well.

    ``log_re`` holds natural logarithms of Reynolds numbers, each row of ``logs`` those of values
    (1).
    """

    log_re: FloatArray
    logs: FloatArray

    def at(self, row: int, re: FloatArray) -> FloatArray:
        """Return the values of a row at Reynolds numbers (1)."""
        x, at, y = np.log(re), self.log_re, self.logs[row]
        found = np.interp(x, at, y)
        below, above = (y[1] - y[0]) / (at[1] - at[0]), (y[-1] - y[-2]) / (at[-1] - at[-2])
        found += below * np.minimum(x - at[0], 0.0) + above * np.maximum(x - at[-1], 0.0)
        return np.asarray(np.exp(found))


@dataclass(frozen=True)
class StatedCurve:
    """The slats' loss by a record: K, its lower and its upper end are the rows of ``table``.

    ``first_re`` and ``last_re`` are the Reynolds numbers between which it was solved for.
    """

    table: Table
    first_re: float
    last_re: float
    covered: bool
    names: Sequence[str] = _SLATS

    def term(self, name: str, re: FloatArray) -> FloatArray:
        """Return the one term there is, in face velocity heads."""
        assert name in _SLATS
        return self.k(re)

    def k(self, re: FloatArray) -> FloatArray:
        """Return the total loss in face velocity heads."""
        return self.table.at(0, re)

    def in_range(self, re: FloatArray) -> BoolArray:
        """Tell where the loss model is calibrated."""
        return np.asarray((re >= self.first_re) & (re <= self.last_re) & self.covered)


@dataclass(frozen=True)
class StatedScreen:
    """A screen by a record, with a window of ``window_mm2``; ``factor`` multiplies its loss (1)."""

    table: Table
    length_mm: float
    window_mm2: float
    factor: float = 1.0

    def drop_pa(self, flow_m3_s: FloatArray, air: AirState) -> FloatArray:
        """Return the pressure drop, Pa, at volume flows, m3/s."""
        before = flow_m3_s / (self.window_mm2 * 1e-6)
        k = self.table.at(0, before * self.length_mm * 1e-3 / air.kinematic_m2_s)
        return np.asarray(0.5 * air.density_kg_m3 * before**2 * k * self.factor)

    def blocked(self, share: float) -> StatedScreen:
        """Return the screen with a ``share`` (1) of it closed in patches."""
        return replace(self, window_mm2=self.window_mm2 * (1.0 - share))

    def scaled(self, factor: float) -> StatedScreen:
        """Return the screen with its loss multiplied by a ``factor`` (1)."""
        return replace(self, factor=self.factor * factor)


@dataclass(frozen=True, kw_only=True)
class StatedAir(AirPath):
    """The way of the air through a vent by its record."""

    path: PathRecord

    def curve(self, *, calibrated: bool = True) -> StatedCurve:
        """Return the loss of the slats over the Reynolds number.

        Raises
        ------
        ValueError
            if it is asked for without the corrections: a record does not state that
        """
        if not calibrated:
            raise ValueError("a record states the corrected loss alone")
        return self._curve

    @cached_property
    def _curve(self) -> StatedCurve:
        path = self.path
        points = [(p.reynolds, p.k, p.k_low, p.k_high) for p in path.slats]
        return StatedCurve(_table(points), path.first_reynolds, path.last_reynolds, not path.beyond)

    def band(self, re: float) -> tuple[float, float]:
        """Return the factors (1) between which the slats' loss lies at a Reynolds number (1)."""
        k, low, high = (float(self._curve.table.at(row, np.array([re]))[0]) for row in range(3))
        return low / k, high / k

    def beyond(self, re: float) -> list[str]:
        """Return in words where slats or Reynolds number (1) lie outside the calibrated range."""
        path = self.path
        return [*beyond_numbers(re, path.first_reynolds, path.last_reynolds), *path.beyond]


def path_record(vent: VentAir) -> PathRecord:
    """Return what a record states of the way of the air.

    Raises
    ------
    UncalibratedError
        if the air model's table lacks runs of the slat form
    """
    curve, (first, last) = vent.curve(), calibrated_numbers(vent.stack)
    # The band has steps where the flow sheds vortices and where the solutions end.
    steps = [n * side for n in (STEADY_RE, first, last) for side in (1 - _STEP, 1.0, 1 + _STEP)]
    numbers = np.unique(np.concatenate([np.exp(curve.log_re), steps]))
    numbers = numbers[(numbers >= NUMBERS[0]) & (numbers <= NUMBERS[1])]
    factors = np.array(bands(vent.stack, numbers.tolist(), vent.bay_mm)).T
    k, log_re = curve.k(numbers), np.log(numbers)
    logs = np.log(np.array([k, k * factors[0], k * factors[1]]))
    kept = straight_between(log_re, logs)
    stated = np.exp(np.vstack([log_re, logs])[:, kept]).T
    return PathRecord(
        face_mm2=_stated(vent.face_mm2),
        pitch_mm=vent.pitch_mm,
        passage_mm=_stated(vent.passage_mm),
        slats=[
            SlatPoint(reynolds=_stated(re), k=_stated(m), k_low=_stated(a), k_high=_stated(b))
            for re, m, a, b in stated
        ],
        first_reynolds=first,
        last_reynolds=last,
        beyond=beyond_stacks(vent.stack),
        drain_mm2=_stated(vent.drain_mm2),
        drain_k=_stated(vent.drain_k),
        entry_in=_mouths(vent.entry["in"]),
        leave_in=_mouths(vent.leave["in"]),
        entry_out=_mouths(vent.entry["out"]),
        leave_out=_mouths(vent.leave["out"]),
        screen=None if not isinstance(vent.screen, ScreenLoss) else _screen(vent.screen),
        fan_frame_mm=vent.fan_frame_mm,
    )


def stated_air(part_number: str, opening_mm2: float, path: PathRecord) -> StatedAir:
    """Return the way of the air that a record states.

    Parameters
    ----------
    part_number
        the vent
    opening_mm2
        area of its opening, which its record states, mm2
    path
        what its record states of the way
    """
    ways: dict[Direction, tuple[list[MouthRecord], list[MouthRecord]]] = {
        "in": (path.entry_in, path.leave_in),
        "out": (path.entry_out, path.leave_out),
    }
    screen = path.screen
    return StatedAir(
        part_number=part_number,
        opening_mm2=opening_mm2,
        face_mm2=path.face_mm2,
        drain_mm2=path.drain_mm2,
        drain_k=path.drain_k,
        pitch_mm=path.pitch_mm,
        passage_mm=path.passage_mm,
        entry={way: _restored(entry) for way, (entry, _) in ways.items()},
        leave={way: _restored(leave) for way, (_, leave) in ways.items()},
        screen=None
        if screen is None
        else StatedScreen(
            _table([(p.reynolds, p.k) for p in screen.points]),
            screen.length_mm,
            screen.window_mm2,
        ),
        fan_frame_mm=path.fan_frame_mm,
        path=path,
    )


def air_stated_by(part_number: str, section: Mapping[str, Any]) -> StatedAir:
    """Return the way of the air that the air section of a record states.

    Raises
    ------
    pydantic.ValidationError
        if the section does not state it
    """
    said = _AirSection.model_validate(section)
    return stated_air(part_number, said.opening_area_mm2, said.path)


class _AirSection(BaseModel):
    """What is read of the air section of a record."""

    opening_area_mm2: float
    path: PathRecord


def straight_between(x: FloatArray, rows: FloatArray) -> list[int]:
    """Return places of the points between which straight lines meet all others.

    Within :data:`STRAIGHT`.

    Parameters
    ----------
    x
        natural logarithms of Reynolds numbers
    rows
        natural logarithms of pure numbers (1), one row a curve

    Examples
    --------
    >>> x = np.arange(5.0)
    >>> straight_between(x, np.abs(x - 3.0)[None, :])
    [0, 3, 4]
    """
    kept, parts = {0, len(x) - 1}, [(0, len(x) - 1)]
    while parts:
        low, high = parts.pop()
        if high - low < 2:
            continue
        share = (x[low : high + 1] - x[low]) / (x[high] - x[low])
        ends = rows[:, [low]], rows[:, [high]]
        off = np.abs(rows[:, low : high + 1] - ends[0] - share * (ends[1] - ends[0])).max(axis=0)
        worst = low + int(off.argmax())
        if off.max() > STRAIGHT:
            kept.add(worst)
            parts += [(low, worst), (worst, high)]
    return sorted(kept)


def _table(points: Sequence[tuple[float, ...]]) -> Table:
    logs = np.log(np.array(points).T)
    return Table(logs[0], logs[1:])


def _screen(screen: ScreenLoss) -> ScreenLossRecord:
    mesh = screen.mesh
    before = np.geomspace(*NUMBERS, 401)
    k = screen_k(mesh.open_share, before)
    kept = straight_between(np.log(before), np.log(k)[None, :])
    return ScreenLossRecord(
        window_mm2=_stated(screen.window_mm2),
        length_mm=_stated(mesh.wire_mm / mesh.open_share),
        points=[ScreenLossPoint(reynolds=_stated(before[i]), k=_stated(k[i])) for i in kept],
    )


def _mouths(mouths: Sequence[Mouth]) -> list[MouthRecord]:
    return [
        MouthRecord(
            name=m.name,
            k=_stated(m.k),
            area_mm2=_stated(m.area_mm2),
            length_mm=_stated(m.length_mm),
            diameter_mm=_stated(m.diameter_mm),
        )
        for m in mouths
    ]


def _restored(mouths: Sequence[MouthRecord]) -> tuple[Mouth, ...]:
    return tuple(Mouth(m.name, m.k, m.area_mm2, m.length_mm, m.diameter_mm) for m in mouths)


def _stated(value: float) -> float:
    """Return a value, in any unit, at the digits that are stated."""
    return float(f"{value:.{DIGITS}g}")
