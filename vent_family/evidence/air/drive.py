"""What drives the air through a vent: a fan with its openings, a face velocity, or a default."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import Any, Final, Literal

from vent_family.base.problems import InputError, Problem, located
from vent_family.catalog.attached import packaged_fans
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import OtherOpenings
from vent_family.evidence.air.airway import MM2, Direction
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.fan_frame import frame_problem, frame_words, goes_into
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.operating import Place
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.state import AirState
from vent_family.evidence.air.summary import RATED_PA
from vent_family.evidence.air.wind import OPENINGS_DEFAULT
from vent_family.spec.families import filled_row
from vent_family.spec.fan_mount import FanFrame
from vent_family.spec.resolve import resolve
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.vent import VentSpec

Source = Literal["fan", "face velocity", "default"]
DEFAULT_PA: Final = RATED_PA
"""Pressure drop over the vent where a row states neither fan nor face velocity: the one for which
the air record states K. An axial fan of 92 mm with 52 Pa at shut-off leaves about half of that
over each of two small vents, and less over large ones (by the fan curves of the package)."""


@dataclass(frozen=True)
class Drive:
    """What drives the air through a vent.

    Parameters
    ----------
    face_velocity_m_s
        flow over the open face in calm air, m/s, zero or more; ``None`` where it is not known
    fan
        what moves the air, through all vents of a kind together; ``None`` where it is not known
    place
        whether the fan moves outside air in or inside air out
    direction
        whether the vent draws air in or lets it out while the fan runs
    vents
        how many vents of this kind stand side by side; as many stand opposite
    opposite
        the vents on the other side, ``None`` for the same kind
    extra_pa
        what lowers the pressure over the pool besides, Pa: it acts on the pool in full and moves no
        air that is counted
    openings
        how the vents opposite lie to the wind
    openings_stated
        whether the row says so
    default_pa
        pressure drop over the vent where nothing is known of the flow, Pa
    frame
        the frame of the fan that stands behind this vent, ``None`` where the fan stands elsewhere
    """

    face_velocity_m_s: float | None = None
    fan: FanCurve | None = None
    place: Place = "intake"
    direction: Direction = "in"
    vents: int = 1
    opposite: VentAir | None = None
    extra_pa: float = 0.0
    openings: OtherOpenings = OPENINGS_DEFAULT
    openings_stated: bool = False
    default_pa: float = DEFAULT_PA
    frame: FanFrame | None = None

    @property
    def source(self) -> Source:
        """Where the flow comes from."""
        if self.fan is not None:
            return "fan"
        return "default" if self.face_velocity_m_s is None else "face velocity"

    @property
    def moves_air(self) -> bool:
        """Whether air moves on a calm day."""
        return self.face_velocity_m_s != 0.0

    def words(self) -> str:
        """Return what drives the air, for people, defaults named as such.

        Examples
        --------
        >>> Drive(1.5, openings="sheltered", openings_stated=True).words()
        'face velocity 1.5 m/s drawn in; other openings sheltered'
        >>> Drive(direction="out").words()
        'default: 25 Pa over the vent, let out; other openings lee side (default)'
        """
        way = "drawn in" if self.direction == "in" else "let out"
        if self.fan is not None:
            many = f" of {self.vents} in parallel" if self.vents > 1 else ""
            text = f"fan {self.fan.name} at the {self.place}, {way} by this vent{many}"
            if self.opposite is not None:
                text += f", {self.opposite.part_number} opposite"
        elif self.face_velocity_m_s is None:
            text = f"default: {self.default_pa:g} Pa over the vent, {way}"
        else:
            text = f"face velocity {self.face_velocity_m_s:g} m/s {way}"
        stated = "" if self.openings_stated else " (default)"
        return f"{text}; other openings {self.openings.replace('_', ' ')}{stated}"

    def calm_flow_m3_s(self, vent: VentAir, air: AirState) -> float:
        """Return the flow through a vent on a calm day, m3/s into the cabinet, without a fan curve.

        Where nothing is known it is what ``default_pa`` over the vent drive.
        """
        if self.face_velocity_m_s is None:
            flow = float(vent.flow(self.default_pa, air, self.direction).flow_m3_s[0])
        else:
            flow = self.face_velocity_m_s * vent.open_face_mm2 * MM2
        return flow if self.direction == "in" else -flow


@dataclass(frozen=True)
class OtherAir:
    """Air in place of what a row states; ``None`` leaves the row's.

    A ``fan`` takes the place of the row's face velocity and the other way round. Names are those of
    the columns, ``opposite`` is the vent on the other side itself.
    """

    fan: FanCurve | None = None
    fan_position: str | None = None
    air_direction: str | None = None
    vents_in_parallel: int | None = None
    opposite: VentAir | None = None
    face_velocity_m_s: float | None = None
    extra_depression_pa: float | None = None
    other_openings: str | None = None

    def problems(self, own: Drive) -> list[Problem]:
        """Return what is wrong with it, in place of a row's own drive."""
        found = [
            Problem(
                "air.choice.unknown",
                f"there is no such {column.replace('_', ' ')}",
                column=column,
                value=value,
                allowed=COLUMNS[column].allowed(),
            )
            for column in ("fan_position", "air_direction", "other_openings")
            if (value := getattr(self, column)) is not None and value not in COLUMNS[column].choices
        ]
        for column in ("vents_in_parallel", "face_velocity_m_s", "extra_depression_pa"):
            value = getattr(self, column)
            low, high = COLUMNS[column].lowest, COLUMNS[column].highest
            assert low is not None
            assert high is not None
            if value is not None and not low <= value <= high:
                found.append(
                    Problem(
                        "air.value.range",
                        "the value is out of range",
                        column=column,
                        value=f"{value:g}",
                        allowed=COLUMNS[column].allowed(),
                        suggestion="correct it, or leave it out",
                    )
                )
        if self.fan is not None and self.face_velocity_m_s is not None:
            found.append(
                Problem(
                    "air.source.twice",
                    "fan and face_velocity_m_s both say how much air passes",
                    column="face_velocity_m_s",
                    value=f"{self.face_velocity_m_s:g}",
                    suggestion="give one of them",
                )
            )
        if self.fan is not None and own.frame is not None and not goes_into(self.fan, own.frame):
            found.append(
                Problem(
                    "air.fan.frame",
                    frame_words(self.fan, own.frame),
                    column="fan",
                    value=self.fan.name,
                    suggestion=f"give a fan whose file states {own.frame.side_mm:g} mm",
                )
            )
        fan = self.fan or (own.fan if self.face_velocity_m_s is None else None)
        for column in ("fan_position", "vents_in_parallel"):
            bad = any(p.column == column for p in found)
            if fan is None and getattr(self, column) is not None and not bad:
                found.append(
                    Problem(
                        "air.option.idle",
                        "it says nothing without a fan",
                        column=column,
                        value=str(getattr(self, column)),
                        suggestion="give a fan, or leave it out",
                    )
                )
        return found

    def instead_of(self, own: Drive) -> Drive:
        """Return a row's own drive with this air in its place.

        Raises
        ------
        InputError
            listing everything that is wrong
        """
        problems = self.problems(own)
        if problems:
            raise InputError(problems)
        changes: dict[str, Any] = {
            "place": self.fan_position,
            "direction": self.air_direction,
            "vents": self.vents_in_parallel,
            "opposite": self.opposite,
            "extra_pa": self.extra_depression_pa,
            "openings": self.other_openings,
        }
        changes = {name: value for name, value in changes.items() if value is not None}
        if self.other_openings is not None:
            changes["openings_stated"] = True
        if self.fan is not None:
            changes |= {"fan": self.fan, "face_velocity_m_s": None}
        if self.face_velocity_m_s is not None:
            changes |= {"fan": None, "face_velocity_m_s": self.face_velocity_m_s}
        return replace(own, **changes)


def drive_of(vent: VentSpec) -> Drive:
    """Return what drives the air through a vent by its row.

    Raises
    ------
    InputError
        where the text of the fan's file makes no curve or states another frame than the one that
        the vent holds, or the vent opposite breaks a rule

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> from vent_family.spec.resolved import ResolvedRows
    >>> text = "part_number,family,size,status,fan\\nV-1,round,M20x1.5,draft,tank-hall-92\\n"
    >>> (vent,) = ResolvedRows(parse_catalog(text)).specs()
    >>> drive = drive_of(vent)
    >>> drive.source, drive.fan.name, drive.direction, drive.openings, drive.openings_stated
    ('fan', 'tank-hall-92', 'in', 'lee_side', False)
    """
    filled = filled_row(vent.row)
    return Drive(
        face_velocity_m_s=filled.face_velocity_m_s,
        fan=None if filled.fan is None else _fan(vent, filled.fan),
        place=filled.fan_position,
        direction=filled.air_direction,
        vents=filled.vents_in_parallel,
        opposite=_opposite(vent),
        extra_pa=filled.extra_depression_pa,
        openings=filled.other_openings or OPENINGS_DEFAULT,
        openings_stated=filled.other_openings is not None,
        frame=None if vent.body.fan_mount is None else vent.body.fan_mount.frame,
    )


def drive_problems(rows: ResolvedRows) -> list[Problem]:
    """Return, with file and row, why what a sound row names cannot move its air."""
    problems: list[Problem] = []
    for source in rows.file.rows:
        try:
            drive_of(rows.spec(source))
        except InputError as error:
            told = located(error.problems, rows.file.path_name, source.row_number)
            problems += rows.file.placed(told)
    known = rows.problems()
    return [p for p in problems if p not in known]


def _fan(vent: VentSpec, name: str) -> FanCurve:
    """Return the curve of the fan a row names.

    Raises
    ------
    InputError
        with one problem, that of the row
    """
    text = vent.attached.fan_text or packaged_fans().get(name, "")
    if not text:
        raise _refused(
            "air.fan.unread",
            vent,
            "fan",
            name,
            "the fan's file was not read",
            "read it with its row",
        )
    try:
        fan = parse_fan(text, PurePosixPath(name).name)
    except InputError as error:
        first, *more = (problem.sentence() for problem in error.problems)
        rest = f" ({len(more)} more)" if more else ""
        message = f"the fan's file makes no curve: {first.rstrip('.')}{rest}"
        raise _refused(
            "air.fan.unread", vent, "fan", name, message, "mend the file, or name another fan"
        ) from None
    problem = frame_problem(vent, fan)
    if problem is not None:
        raise InputError([problem])
    return fan


def _opposite(vent: VentSpec) -> VentAir | None:
    """Return the air side of the vents opposite, ``None`` for the same kind.

    Raises
    ------
    InputError
        where its row breaks a rule
    """
    row = vent.attached.opposite
    if row is None:
        return None
    try:
        return vent_air(resolve(row))
    except InputError as error:
        first = error.problems[0].message
        message = f"the vent opposite cannot be made: {first}"
        raise _refused(
            "air.opposite.refused",
            vent,
            "opposite_vent",
            row.part_number,
            message,
            "mend its row, or name another vent",
        ) from None


def _refused(
    code: str, vent: VentSpec, column: str, value: str, message: str, fix: str
) -> InputError:
    part = vent.part_number
    return InputError([Problem(code, message, "", None, part, column, value, suggestion=fix)])
