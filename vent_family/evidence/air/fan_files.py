"""Fan curves from CSV files, read with the catalogue's scanner.

A file has two columns, flow and static pressure, with the unit in the column name: ``flow_m3_h``,
``flow_m3_s``, ``flow_l_min`` or ``flow_cfm``, and ``pressure_pa``, ``pressure_mmh2o`` or
``pressure_inh2o``; other columns are passed over. Encodings, separators and decimal marks are those
the catalogue accepts. Lines that begin with ``#`` are comments; one of them may be
``# density_kg_m3: 1.2``, the density the curve was measured at, another ``# frame_mm: 92``, the
side of the fan's square frame.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import (
    CFM_M3_S,
    FAN_TEST_DENSITY_KG_M3,
    PASCAL_PER_INH2O,
    PASCAL_PER_MMH2O,
)
from vent_family.base.limits import (
    FAN_FLOW_MAX,
    FAN_FRAME_MAX,
    FAN_FRAME_MIN,
    FAN_GAP_MAX,
    FAN_POINTS_MIN,
    FAN_PRESSURE_MAX,
    STALL_SHARE,
)
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.attached import packaged_fans
from vent_family.catalog.columns import Column, loose
from vent_family.catalog.parse.cells import damage
from vent_family.catalog.parse.numbers import (
    Fault,
    NumberStyle,
    number_style,
    parse_number,
)
from vent_family.catalog.parse.scan import SEPARATORS, Record, cells_of, cut, scan, split
from vent_family.catalog.parse.table import declared_separator, row_fault
from vent_family.catalog.parse.text import read_text
from vent_family.evidence.air.fans import FanCurve, in_parallel, in_series

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
STATED: Final = {
    "density_kg_m3": (
        "density of the fan curve",
        0.3,
        2.0,
        "kg/m3",
        "state the density the curve was measured at, usually 1.2",
    ),
    "frame_mm": (
        "frame of the fan",
        FAN_FRAME_MIN.value,
        FAN_FRAME_MAX.value,
        "mm",
        "state the side of the square frame, or delete the line",
    ),
}
"""What a comment line may state: its name in words, least and greatest value, unit, what to do."""

_STATED: Final = re.compile(r'[\s"]*#\s*(density_kg_m3|frame_mm)\s*:\s*([^\s"]+)', re.IGNORECASE)
_SCIENTIFIC: Final = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?[eE][+-]?[0-9]+")


@dataclass(frozen=True)
class _Points:
    """The points of a curve in SI units, with the place and the words of each for messages."""

    file: str
    flow_name: str
    pressure_name: str
    rows: tuple[int, ...]
    flow_words: tuple[str, ...]
    pressure_words: tuple[str, ...]
    flow_m3_s: FloatArray
    pressure_pa: FloatArray


def read_fan(path: Path) -> FanCurve:
    """Return the fan curve in a CSV file, or the packaged one of this name.

    Raises
    ------
    InputError
        listing everything wrong with the file

    Examples
    --------
    >>> read_fan(Path("tank-hall-92")).shut_off_pa
    52.0
    """
    packaged = packaged_fans()
    if str(path) in packaged and not path.exists():
        return parse_fan(packaged[str(path)], f"{path}.csv")
    try:
        text = read_text(path)
    except InputError as error:
        told = [
            replace(p, message=f"the fan curve cannot be read: {p.message}") for p in error.problems
        ]
        raise InputError(told) from None
    return parse_fan(text, path.name)


def read_fans(path: Path | None, parallel: int = 1, series: int = 1) -> FanCurve | None:
    """Return a group of equal fans: ``series`` one behind the other, ``parallel`` such rows.

    ``None`` without a file.

    Raises
    ------
    InputError
        listing everything wrong with the file, for numbers out of range, for several fans without
        a file
    """
    counts = (("fans", parallel), ("fans_in_series", series))
    if path is None:
        problems = [
            Problem(
                "air.option.idle",
                "how many fans says nothing without a fan",
                column=name,
                value=str(count),
                suggestion="give the fan's curve too, or leave it out",
            )
            for name, count in counts
            if count != 1
        ]
        if problems:
            raise InputError(problems)
        return None
    return in_parallel(in_series(read_fan(path), series), parallel)


def parse_fan(text: str, file: str) -> FanCurve:
    """Return the fan curve in a CSV text; ``file`` is named in messages.

    Raises
    ------
    InputError
        listing everything wrong with the text

    Examples
    --------
    >>> fan = parse_fan("flow_m3_h;pressure_pa\\n0;52\\n30;37,5\\n58;26\\n80;0\\n", "hall.csv")
    >>> fan.name, fan.shut_off_pa, round(3600 * fan.free_flow_m3_s)
    ('hall', 52.0, 80)
    """
    text, separator = declared_separator(text, file)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    separator = separator or _separator(text)
    records = list(scan(text, separator))
    stated = _stated(text.split("\n"), separator, file)
    if not records:
        raise InputError([Problem("fan.points.none", "the file holds no fan curve", file=file)])
    points = _points(records, separator, file)
    problems = _faults(points)
    if problems:
        raise InputError(problems)
    flows, pressures = points.flow_m3_s.tolist(), points.pressure_pa.tolist()
    return FanCurve(
        Path(file).stem,
        tuple(flows),
        tuple(pressures),
        stated.get("density_kg_m3", FAN_TEST_DENSITY_KG_M3),
        stated.get("frame_mm"),
    )


def _separator(text: str) -> str:
    """Return the separator under which the line of column names shows most names with a unit."""

    def known(separator: str) -> int:
        record = next(scan(text, separator), None)
        names = split(record.text, separator) if record else []
        return sum(loose(n) in FLOW_UNITS or loose(n) in PRESSURE_UNITS for n in names)

    return max(SEPARATORS, key=known)


def _stated(lines: Sequence[str], separator: str, file: str) -> dict[str, float]:
    """Return what comment lines state, the first of each kind: density in kg/m3, frame in mm.

    Raises
    ------
    InputError
        naming the first number that makes no sense
    """
    stated: dict[str, float] = {}
    for i, line in enumerate(lines, 1):
        found = _STATED.match(line)
        if found is None:
            continue
        name, word = found.group(1).lower(), found.group(2).rstrip(separator)
        try:
            # A comma cannot part thousands in numbers so small.
            value = float(word if separator == "," else word.replace(",", "."))
        except ValueError:
            value = math.nan
        what, low, high, unit, fix = STATED[name]
        if not low <= value <= high:
            raise InputError(
                [
                    Problem(
                        "fan.stated.range",
                        f"the {what} makes no sense",
                        file=file,
                        row=i,
                        value=word,
                        allowed=f"{low:g} to {high:g} {unit}",
                        suggestion=fix,
                    )
                ]
            )
        stated.setdefault(name, value)
    return stated


def _points(records: Sequence[Record], separator: str, file: str) -> _Points:
    """Return the points below the line of column names.

    Raises
    ------
    InputError
        listing every row that cannot be split and every cell that is no number
    """
    header, body = records[0], records[1:]
    names = [loose(n) for n in split(header.text, separator)]
    flow_name = _unit_column(names, FLOW_UNITS, "flow", file, header.row_number)
    pressure_name = _unit_column(names, PRESSURE_UNITS, "pressure", file, header.row_number)
    problems: list[Problem] = []
    rows: list[int] = []
    words: dict[str, list[str]] = {flow_name: [], pressure_name: []}
    for record in body:
        fault = row_fault(record, names, separator, file)
        if fault is not None:
            problems.append(fault)
            continue
        cells = cells_of(record, separator)
        cells += [""] * (len(names) - len(cells))
        rows.append(record.row_number)
        for name, column in words.items():
            column.append(cells[names.index(name)])
    style = number_style((w for column in words.values() for w in column), separator)
    values = {
        name: [
            _number(word, name, style, file, row, problems)
            for row, word in zip(rows, column, strict=True)
        ]
        for name, column in words.items()
    }
    if problems:
        raise InputError(problems)
    return _Points(
        file=file,
        flow_name=flow_name,
        pressure_name=pressure_name,
        rows=tuple(rows),
        flow_words=tuple(words[flow_name]),
        pressure_words=tuple(words[pressure_name]),
        flow_m3_s=np.array(values[flow_name]) * FLOW_UNITS[flow_name],
        pressure_pa=np.array(values[pressure_name]) * PRESSURE_UNITS[pressure_name],
    )


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
                "fan.column.twice" if found else "fan.column.missing",
                f"two {what} columns" if found else f"no {what} column with a known unit",
                file=file,
                row=row,
                value=", ".join(found or near),
                allowed=", ".join(units),
                suggestion="keep one of them" if found else "put the unit in the column name",
            )
        ]
    )


def _number(
    word: str, name: str, style: NumberStyle, file: str, row: int, problems: list[Problem]
) -> float:
    """Return a cell as a number and note where it is none."""
    column = Column(name, "number", "", "", required=True)
    value: float | Fault
    if not word:
        value = Fault(
            "fan.point.blank", "a point is missing its value", "fill in the cell or delete the row"
        )
    elif _SCIENTIFIC.fullmatch(word):
        # Small flows in m3/s are often written so; a catalogue's dimensions are not.
        value = float(word.replace(",", "."))
    else:
        value = damage(word, column) or parse_number(word, column, style)
    if isinstance(value, Fault):
        problems.append(
            Problem(
                value.code,
                value.message,
                file=file,
                row=row,
                column=name,
                value=cut(word),
                suggestion=value.suggestion,
            )
        )
        return float("nan")
    return value


def _faults(points: _Points) -> list[Problem]:
    """Return what is wrong with the points of a curve."""
    q, p = points.flow_m3_s, points.pressure_pa
    problems: list[Problem] = []

    def note(
        i: int | None, code: str, column: str, message: str, fix: str, allowed: str = ""
    ) -> None:
        words = points.flow_words if column == points.flow_name else points.pressure_words
        problems.append(
            Problem(
                code,
                message,
                file=points.file,
                row=None if i is None else points.rows[i],
                column=column,
                value="" if i is None else words[i],
                allowed=allowed,
                suggestion=fix,
            )
        )

    if len(q) < FAN_POINTS_MIN.value:
        allowed = f"{FAN_POINTS_MIN.value:g} points or more"
        note(
            None,
            "fan.points.few",
            points.flow_name,
            f"{len(q)} points do not make a curve",
            "add points",
            allowed,
        )
        return problems
    for i in range(len(q)):
        if q[i] < 0 or p[i] < 0:
            name = points.flow_name if q[i] < 0 else points.pressure_name
            note(
                i,
                "fan.point.negative",
                name,
                "flow and pressure of a fan curve are not negative",
                "delete the point",
            )
    for i in range(1, len(q)):
        if q[i] in q[:i]:
            note(
                i,
                "fan.point.repeated",
                points.flow_name,
                "two points have the same flow",
                "keep one of them",
            )
        elif q[i] < q[i - 1]:
            message = "the flow falls from this point to the one before"
            note(i, "fan.point.order", points.flow_name, message, "sort the points by rising flow")
    if problems:
        return problems
    free, top = q[-1], p.max()
    if top <= 0 or free <= 0:
        message = "the curve gives no pressure or no flow"
        note(None, "fan.curve.zero", points.pressure_name, message, "check the columns")
        return problems
    if q[0] > 0:
        message = "the curve does not begin at zero flow"
        note(
            0,
            "fan.curve.start",
            points.flow_name,
            message,
            "add the shut-off point: flow 0 and its pressure",
        )
    if p[-1] > 1e-9 * top:
        message = "the curve does not end at zero pressure"
        fix = "add the free flow: its flow and pressure 0"
        note(len(q) - 1, "fan.curve.end", points.pressure_name, message, fix)
    for i in range(1, len(q)):
        if q[i] - q[i - 1] > FAN_GAP_MAX.value * free:
            note(
                i,
                "fan.curve.gap",
                points.flow_name,
                f"there is a gap of {100 * (q[i] - q[i - 1]) / free:.0f} % of the"
                " free flow before this point",
                "add points in between",
                f"gaps up to {100 * FAN_GAP_MAX.value:g} %",
            )
    rises = np.nonzero(np.diff(p) > STALL_SHARE.value * p.max())[0]
    peak = int(np.argmax(p))
    for i in rises.tolist():
        # One hump is the stall of an axial fan; a rise behind the falling branch is a slip.
        if i >= peak and q[i] > 0.6 * free:
            message = "the pressure rises again towards the free flow"
            note(i + 1, "fan.curve.rises", points.pressure_name, message, "check this point")
    units = "check the units in the column names"
    if top > FAN_PRESSURE_MAX.value or free > FAN_FLOW_MAX.value / 3600:
        note(
            None,
            "fan.curve.range",
            "",
            f"the fan would give {top:.0f} Pa and {free * 3600:.0f} m3/h",
            units,
            f"up to {FAN_PRESSURE_MAX.value:g} Pa and {FAN_FLOW_MAX.value:g} m3/h",
        )
    elif top < 1.0 or free * 3600 < 1.0:
        note(
            None,
            "fan.curve.range",
            "",
            f"the fan would give only {top:.3g} Pa and {free * 3600:.3g} m3/h",
            units,
            "at least 1 Pa and 1 m3/h",
        )
    return problems
