"""Fan curves: reading them from CSV, interpolating without overshoot, joining fans together.

A curve file has two columns, flow and static pressure, with the unit in the column name:
``flow_m3_h``, ``flow_m3_s``, ``flow_l_min`` or ``flow_cfm``, and ``pressure_pa``,
``pressure_mmh2o`` or ``pressure_inh2o``. Lines that begin with ``#`` are comments; one of them may
be ``# density_kg_m3: 1.2``, the density the curve was measured at.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from scipy.interpolate import PchipInterpolator

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import (
    CFM_M3_S,
    FAN_TEST_DENSITY_KG_M3,
    PASCAL_PER_INH2O,
    PASCAL_PER_MMH2O,
)
from vent_family.base.limits import (
    FAN_FLOW_MAX,
    FAN_GAP_MAX,
    FAN_POINTS_MIN,
    FAN_PRESSURE_MAX,
    STALL_SHARE,
)
from vent_family.base.problems import InputError, Problem

FLOW_UNITS: Final = {
    "flow_m3_h": 1 / 3600,
    "flow_m3_s": 1.0,
    "flow_l_min": 1e-3 / 60,
    "flow_cfm": CFM_M3_S,
}
PRESSURE_UNITS: Final = {
    "pressure_pa": 1.0,
    "pressure_mmh2o": PASCAL_PER_MMH2O,
    "pressure_inh2o": PASCAL_PER_INH2O,
}
"""Pascals per unit; columns of water at 4 degC, conventional values."""


@dataclass(frozen=True)
class FanCurve:
    """Static pressure over flow of a fan or a group of fans.

    ``flow_m3_s`` rises strictly from 0 to the free flow, where ``pressure_pa`` is 0;
    ``density_kg_m3`` is the density the pressures belong to.
    """

    name: str
    flow_m3_s: tuple[float, ...]
    pressure_pa: tuple[float, ...]
    density_kg_m3: float = FAN_TEST_DENSITY_KG_M3

    @cached_property
    def _curve(self) -> PchipInterpolator:
        return PchipInterpolator(self.flow_m3_s, self.pressure_pa)

    def pressure(self, flow_m3_s: FloatArray | float) -> FloatArray:
        """Return the static pressure (Pa) at a flow; negative beyond the free flow.

        Between points by monotone cubics (Fritsch & Carlson 1980, through scipy), so no bump
        appears that the points do not have; beyond the free flow along the end slope.
        """
        q = np.asarray(flow_m3_s, dtype=float)
        last = self.flow_m3_s[-1]
        slope = min(float(self._curve(last, 1)), -1e-6)
        return np.where(q <= last, self._curve(np.clip(q, 0, last)), slope * (q - last))

    @property
    def free_flow_m3_s(self) -> float:
        """Flow at zero pressure."""
        return self.flow_m3_s[-1]

    @property
    def shut_off_pa(self) -> float:
        """Pressure at zero flow."""
        return self.pressure_pa[0]

    @cached_property
    def stall_m3_s(self) -> float | None:
        """Flow up to which the fan may stall: the last hump or the saddle of the curve.

        None if the pressure falls all the way. In that region one pressure belongs to several
        flows and the fan may hunt between them.
        """
        p = np.asarray(self.pressure_pa)
        rises = np.nonzero(np.diff(p) > STALL_SHARE.value * p.max())[0]
        if not len(rises):
            return None
        top = int(rises[-1]) + 1
        while top + 1 < len(p) and p[top + 1] >= p[top]:
            top += 1
        return self.flow_m3_s[top]

    def at_density(self, density_kg_m3: float) -> FanCurve:
        """Return the curve at another density: pressure grows with it, volume flow stays."""
        factor = density_kg_m3 / self.density_kg_m3
        pressures = tuple(p * factor for p in self.pressure_pa)
        return FanCurve(self.name, self.flow_m3_s, pressures, density_kg_m3)


def in_parallel(fan: FanCurve, count: int) -> FanCurve:
    """Return equal fans side by side: flows add at the same pressure."""
    _whole(count)
    flows = tuple(q * count for q in fan.flow_m3_s)
    return FanCurve(_times(fan, count, "side by side"), flows, fan.pressure_pa, fan.density_kg_m3)


def in_series(fan: FanCurve, count: int) -> FanCurve:
    """Return equal fans one behind the other: pressures add at the same flow."""
    _whole(count)
    pressures = tuple(p * count for p in fan.pressure_pa)
    return FanCurve(
        _times(fan, count, "one behind the other"), fan.flow_m3_s, pressures, fan.density_kg_m3
    )


def _times(fan: FanCurve, count: int, how: str) -> str:
    return fan.name if count == 1 else f"{count} x {fan.name}, {how}"


def _whole(count: int) -> None:
    if count < 1:
        raise InputError(
            [
                Problem(
                    "there must be at least one fan",
                    column="fans",
                    value=str(count),
                    allowed="1 or more",
                    suggestion="give the number of fans",
                )
            ]
        )


def read_fan(path: Path) -> FanCurve:
    """Return the fan curve in a CSV file.

    Raises
    ------
    InputError
        listing everything wrong with the file
    """
    name = path.name
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise InputError(
            [Problem(f"the fan curve cannot be read ({error.strerror})", file=str(path))]
        ) from error
    except UnicodeDecodeError as error:
        raise InputError(
            [
                Problem(
                    "the fan curve is not plain text",
                    file=name,
                    suggestion="save the sheet as CSV (UTF-8)",
                )
            ]
        ) from error
    return parse_fan(text, name)


def read_fans(path: Path, parallel: int = 1, series: int = 1) -> FanCurve:
    """Return a group of equal fans: ``series`` one behind the other, ``parallel`` such rows.

    Raises
    ------
    InputError
        listing everything wrong with the file, or for no fans
    """
    return in_parallel(in_series(read_fan(path), series), parallel)


def parse_fan(text: str, file: str) -> FanCurve:
    """Return the fan curve in a CSV text; ``file`` is named in messages."""
    lines = text.splitlines()
    numbers = [i for i, line in enumerate(lines, 1) if _is_data(line)]
    density = _density(lines, file)
    if not numbers:
        raise InputError([Problem("the file holds no fan curve", file=file)])
    header = lines[numbers[0] - 1]
    body = "\n".join(lines[i - 1] for i in numbers)
    if ";" in header:
        raise InputError(
            [
                Problem(
                    "columns are separated by semicolons",
                    file=file,
                    row=numbers[0],
                    suggestion="separate columns by commas and write decimals with a point",
                )
            ]
        )
    table = pd.read_csv(io.StringIO(body), dtype=str, skipinitialspace=True, index_col=False)
    table.columns = [str(c).strip().lower() for c in table.columns]
    flow_name = _unit_column(list(table.columns), FLOW_UNITS, "flow", file, numbers[0])
    pressure_name = _unit_column(list(table.columns), PRESSURE_UNITS, "pressure", file, numbers[0])
    problems: list[Problem] = []
    flows = _numbers(table[flow_name], flow_name, file, numbers, problems)
    pressures = _numbers(table[pressure_name], pressure_name, file, numbers, problems)
    if problems:
        raise InputError(problems)
    q = flows * FLOW_UNITS[flow_name]
    p = pressures * PRESSURE_UNITS[pressure_name]
    problems = _faults(q, p, flow_name, pressure_name, file, numbers[1:])
    if problems:
        raise InputError(problems)
    return FanCurve(Path(file).stem, tuple(q.tolist()), tuple(p.tolist()), density)


def _is_data(line: str) -> bool:
    return bool(line.strip().strip(",")) and not line.lstrip().startswith("#")


def _density(lines: Sequence[str], file: str) -> float:
    """Return the density a comment line states."""
    for i, line in enumerate(lines, 1):
        found = re.match(r"\s*#\s*density_kg_m3\s*:\s*(\S+)", line)
        if found is None:
            continue
        try:
            value = float(found.group(1))
        except ValueError:
            value = float("nan")
        if 0.3 <= value <= 2.0:
            return value
        raise InputError(
            [
                Problem(
                    "the density of the fan curve makes no sense",
                    file=file,
                    row=i,
                    value=found.group(1),
                    allowed="0.3 to 2 kg/m3",
                    suggestion="state the density of the test air, usually 1.2",
                )
            ]
        )
    return FAN_TEST_DENSITY_KG_M3


def _unit_column(
    columns: Sequence[str], units: dict[str, float], what: str, file: str, row: int
) -> str:
    """Return the one column that holds a quantity."""
    found = [c for c in columns if c in units]
    if len(found) == 1:
        return found[0]
    near = [c for c in columns if what in c or c.startswith(what[0])]
    raise InputError(
        [
            Problem(
                f"two {what} columns" if found else f"no {what} column with a known unit",
                file=file,
                row=row,
                value=", ".join(found or near),
                allowed=", ".join(units),
                suggestion="keep one of them" if found else "put the unit in the column name",
            )
        ]
    )


def _numbers(
    column: pd.Series[str], name: str, file: str, rows: Sequence[int], problems: list[Problem]
) -> FloatArray:
    """Return a column as numbers and note every cell that is none."""
    values = np.full(len(column), np.nan)
    for i, cell in enumerate(column):
        word = "" if pd.isna(cell) else str(cell).strip()
        try:
            values[i] = float(word)
        except ValueError:
            values[i] = np.nan
        if not np.isfinite(values[i]):
            problems.append(
                Problem(
                    "a point is missing its value" if not word else "this is not a number",
                    file=file,
                    row=rows[i + 1],
                    column=name,
                    value=word,
                    suggestion="fill in the cell or delete the row"
                    if not word
                    else "write a number with a decimal point",
                )
            )
    return values


def _faults(
    q: FloatArray, p: FloatArray, flow_name: str, pressure_name: str, file: str, rows: Sequence[int]
) -> list[Problem]:
    """Return what is wrong with the points of a curve, SI units."""
    problems: list[Problem] = []

    def note(i: int | None, column: str, message: str, value: str, fix: str, ok: str = "") -> None:
        row = None if i is None else rows[i]
        problems.append(
            Problem(
                message, file=file, row=row, column=column, value=value, allowed=ok, suggestion=fix
            )
        )

    if len(q) < FAN_POINTS_MIN.value:
        note(
            None,
            flow_name,
            f"{len(q)} points do not make a curve",
            "",
            "add points",
            f"{FAN_POINTS_MIN.value:g} points or more",
        )
        return problems
    for i in range(len(q)):
        if q[i] < 0 or p[i] < 0:
            name, bad = (flow_name, q[i]) if q[i] < 0 else (pressure_name, p[i])
            note(
                i,
                name,
                "flow and pressure of a fan curve are not negative",
                f"{bad:g}",
                "delete the point",
            )
    for i in range(1, len(q)):
        if q[i] == q[i - 1] or (q[i] in q[:i]):
            note(
                i,
                flow_name,
                "two points have the same flow",
                f"{q[i] / _unit(flow_name):g}",
                "keep one of them",
            )
        elif q[i] < q[i - 1]:
            note(
                i,
                flow_name,
                "the flow falls from this point to the one before",
                f"{q[i] / _unit(flow_name):g}",
                "sort the points by rising flow",
            )
    if problems:
        return problems
    free, top = q[-1], p.max()
    if top <= 0 or free <= 0:
        note(None, pressure_name, "the curve gives no pressure or no flow", "", "check the columns")
        return problems
    if q[0] > 0:
        note(
            0,
            flow_name,
            "the curve does not begin at zero flow",
            f"{q[0] / _unit(flow_name):g}",
            "add the shut-off point: flow 0 and its pressure",
        )
    if p[-1] > 1e-9 * top:
        note(
            len(q) - 1,
            pressure_name,
            "the curve does not end at zero pressure",
            f"{p[-1] / _unit(pressure_name):g}",
            "add the free flow: its flow and pressure 0",
        )
    for i in range(1, len(q)):
        if q[i] - q[i - 1] > FAN_GAP_MAX.value * free:
            note(
                i,
                flow_name,
                f"there is a gap of {100 * (q[i] - q[i - 1]) / free:.0f} % of the"
                " free flow before this point",
                f"{q[i] / _unit(flow_name):g}",
                "add points in between",
                f"gaps up to {100 * FAN_GAP_MAX.value:g} %",
            )
    rises = np.nonzero(np.diff(p) > STALL_SHARE.value * p.max())[0]
    peak = int(np.argmax(p))
    for i in rises.tolist():
        # One hump is the stall of an axial fan; a rise behind the falling branch is a slip.
        if i >= peak and q[i] > 0.6 * free:
            note(
                i + 1,
                pressure_name,
                "the pressure rises again towards the free flow",
                f"{p[i + 1] / _unit(pressure_name):g}",
                "check this point",
            )
    if top > FAN_PRESSURE_MAX.value or free > FAN_FLOW_MAX.value / 3600:
        note(
            None,
            "",
            f"the fan would give {top:.0f} Pa and {free * 3600:.0f} m3/h",
            "",
            "check the units in the column names",
            f"up to {FAN_PRESSURE_MAX.value:g} Pa and {FAN_FLOW_MAX.value:g} m3/h",
        )
    elif top < 1.0 or free * 3600 < 1.0:
        note(
            None,
            "",
            f"the fan would give only {top:.3g} Pa and {free * 3600:.3g} m3/h",
            "",
            "check the units in the column names",
            "at least 1 Pa and 1 m3/h",
        )
    return problems


def _unit(name: str) -> float:
    return FLOW_UNITS.get(name) or PRESSURE_UNITS[name]
