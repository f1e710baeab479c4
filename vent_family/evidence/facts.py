"""Facts: the fields of a record with unit and meaning, and every view that follows from them.

A field of a record, or of a frozen dataclass inside one, is annotated with a :class:`Fact`. From it
follow the unit and the description in the JSON schema, the attributes of STEP files, the entries of
the library's index, the columns of report tables and the lines of a report's chapter. Nothing else
knows what a record holds.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

View = Literal["attribute", "index"]
Value = str | int | float
Source = Callable[[Any], Value | None]
"""Takes a record and returns what is stated of it; ``None`` states nothing."""


@dataclass(frozen=True, slots=True)
class Stated:
    """A named value; ``unit`` is "" for text and counts, "1" for a pure number."""

    name: str
    value: Value
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """How a fact is stated outside its record.

    Parameters
    ----------
    name
        the name; fields of the same record may stand in it, as ``flow_at_{pressure_pa:g}_pa``,
        and ``{name:_}`` is a text with underscores for its spaces
    unit
        unit of what is stated, where it is not the field's own
    of
        what is stated, taken from the record; the field's own value if left out
    digits
        decimals it is rounded to, all of them if left out
    rank
        place among what the record states: lower ranks first, equal ones in order of the fields
    """

    name: str
    unit: str | None = None
    of: Source | None = None
    digits: int | None = None
    rank: int = 0


@dataclass(frozen=True, slots=True)
class TableColumn:
    """How a fact stands in a table: heading, and a format or a function of the record.

    The format is that of the ``format`` built-in; nothing is written for ``None``. Columns of
    lower ``rank`` come first, those of equal rank in order of the fields.
    """

    heading: str
    text: str | Callable[[Any], str] = ""
    rank: int = 0


@dataclass(frozen=True, slots=True)
class Fact:
    """Unit and meaning of a field, and where else it is stated.

    Parameters
    ----------
    meaning
        what the value says, for people; the description in the schema
    unit
        unit of the value; "1" for a pure number, "" for text and counts; a field of the record
        in braces where it says the unit, as ``{unit}``
    attribute, index
        attributes of STEP files and entries of the library's index that come from it: a name, or
        a :class:`Shown`, or several; or a function that returns what a record states
    column
        its column in a table of such records, if any
    rank
        rank of names given as text and of everything that a nested record states
    """

    meaning: str = ""
    unit: str = ""
    attribute: str | Shown | tuple[Shown, ...] | Callable[[Any], Iterable[Stated]] = ()
    index: str | Shown | tuple[Shown, ...] | Callable[[Any], Iterable[Stated]] = ()
    column: TableColumn | None = None
    rank: int = 0

    def shown(self, view: View) -> tuple[Shown, ...]:
        """Return how the fact is stated in a view, in order."""
        found = self.attribute if view == "attribute" else self.index
        if isinstance(found, str):
            return (Shown(found, rank=self.rank),)
        if isinstance(found, Shown):
            return (found,)
        return found if isinstance(found, tuple) else ()

    def __get_pydantic_json_schema__(
        self, core_schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Add meaning and unit to the field's JSON schema."""
        schema = handler(core_schema)
        if self.meaning:
            schema["description"] = self.meaning
        if self.unit:
            schema["unit"] = self.unit
        return schema


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a record: name, annotation without its metadata, and its fact."""

    name: str
    annotation: Any
    fact: Fact | None


_PLAIN: Final = Fact()
_UNIT_OF_NAME: Final = {
    "mm": "mm",
    "mm2": "mm2",
    "mm3": "mm3",
    "cm2": "cm2",
    "cm3": "cm3",
    "mm4": "mm4",
    "deg": "deg",
    "rad": "rad",
    "deg_c": "degC",
    "temperature_c": "degC",
    "s": "s",
    "h": "h",
    "n": "N",
    "n_m": "N m",
    "j": "J",
    "pa": "Pa",
    "mpa": "MPa",
    "g": "g",
    "l": "L",
    "l_min": "L/min",
    "m_s": "m/s",
    "m3_h": "m3/h",
    "kg_m3": "kg/m3",
    "g_cm3": "g/cm3",
    "percent": "%",
}
"""Endings of names that say a unit, and the unit they say."""
_KNOWN: Final[dict[type, tuple[Field, ...]]] = {}


def fields_of(record: type) -> tuple[Field, ...]:
    """Return the fields of a record's type, or none if it is no record."""
    if record not in _KNOWN:
        _KNOWN[record] = _fields_of(record)
    return _KNOWN[record]


def _fields_of(record: Any) -> tuple[Field, ...]:
    if not is_record(record):
        return ()
    hints = get_type_hints(record, include_extras=True)
    if issubclass(record, BaseModel):
        names = list(record.model_fields)
    else:
        names = [f.name for f in dataclasses.fields(record)]
    found = []
    for name in names:
        extras = getattr(hints[name], "__metadata__", ())
        annotation = hints[name].__origin__ if extras else hints[name]
        fact = next((e for e in extras if isinstance(e, Fact)), None)
        found.append(Field(name, annotation, fact))
    return tuple(found)


def is_record(kind: Any) -> bool:
    """Tell whether a type has fields that may carry facts."""
    return isinstance(kind, type) and (
        issubclass(kind, BaseModel) or dataclasses.is_dataclass(kind)
    )


def stated(record: Any, view: View) -> list[Stated]:
    """Return what a record states in a view, nested records included.

    Text that is empty and values that are ``None`` state nothing. Of equal names the last value
    stands, in the place of the first.

    Examples
    --------
    >>> from vent_family.evidence.air.record import FlowRecord
    >>> flow = FlowRecord(
    ...     pressure_pa=25.0,
    ...     flow_in_m3_h=31.5,
    ...     flow_in_low_m3_h=29.0,
    ...     flow_in_high_m3_h=34.0,
    ...     flow_in_half_clogged_m3_h=17.0,
    ...     flow_out_m3_h=30.0,
    ...     flow_out_low_m3_h=28.0,
    ...     flow_out_high_m3_h=32.0,
    ...     gap_velocity_m_s=1.2,
    ...     reynolds=300.0,
    ...     in_range=True,
    ... )
    >>> stated(flow, "attribute")[0]
    Stated(name='air_flow_in_at_25_pa_m3_h', value=31.5, unit='m3/h')
    """
    found: dict[str, Stated] = {}
    for one in _stated(record, view):
        found[one.name] = one
    return list(found.values())


def _stated(record: Any, view: View) -> list[Stated]:
    ranked: list[tuple[int, Stated]] = []
    for field in fields_of(type(record)):
        fact = field.fact or _PLAIN
        states = fact.attribute if view == "attribute" else fact.index
        if callable(states):
            ranked += [(fact.rank, one) for one in states(record)]
        for shown in fact.shown(view):
            value = shown.of(record) if shown.of else getattr(record, field.name)
            if value is None or value == "":
                continue
            if shown.digits is not None and isinstance(value, float):
                value = round(value, shown.digits)
            unit = _filled(fact.unit if shown.unit is None else shown.unit, record)
            name = _filled(shown.name, record)
            ranked.append((shown.rank, Stated(name, value, "" if isinstance(value, str) else unit)))
        ranked += [
            (fact.rank, one)
            for nested in _records(getattr(record, field.name))
            for one in _stated(nested, view)
        ]
    return [one for _, one in sorted(ranked, key=lambda item: item[0])]


def _records(value: Any) -> Iterator[Any]:
    """Return the records a value is or holds."""
    if is_record(type(value)):
        yield value
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _records(item)


class _Text(str):
    __slots__ = ()

    def __format__(self, spec: str) -> str:
        return self.replace(" ", "_") if spec == "_" else super().__format__(spec)


def _filled(name: str, record: Any) -> str:
    if "{" not in name:
        return name
    values = {f.name: getattr(record, f.name) for f in fields_of(type(record))}
    return name.format_map({k: _Text(v) if isinstance(v, str) else v for k, v in values.items()})


def table(records: Sequence[Any], record_type: type) -> list[str]:
    """Return records as the lines of a Markdown table, by the columns of their facts."""
    columns = [(f.name, f.fact.column) for f in fields_of(record_type) if f.fact and f.fact.column]
    columns.sort(key=lambda c: c[1].rank)
    lines = [
        f"| {' | '.join(column.heading for _, column in columns)} |",
        f"| {' | '.join('---' for _ in columns)} |",
    ]
    for record in records:
        cells = [_cell(record, name, column) for name, column in columns]
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def _cell(record: Any, name: str, column: TableColumn) -> str:
    if callable(column.text):
        return column.text(record)
    value = getattr(record, name)
    return "" if value is None else format(value, column.text)


def facts_table(record: Any) -> list[str]:
    """Return the plain facts of a record with meaning, value and unit, as a Markdown table."""
    lines = ["| what | value | unit |", "| --- | --- | --- |"]
    for field in fields_of(type(record)):
        value = getattr(record, field.name)
        if field.fact is None or not isinstance(value, str | int | float):
            continue
        text = f"{value:.4g}" if isinstance(value, float) else str(value)
        unit = _filled(field.fact.unit, record)
        lines.append(f"| {field.fact.meaning or field.name} | {text} | {unit} |")
    return lines


def faults(record_type: type) -> list[str]:
    """Return, as sentences, what is missing in the facts of a record's type.

    Examples
    --------
    >>> from pydantic import create_model
    >>> faults(create_model("Bare", area=(float, ...)))
    ['Bare.area is a quantity and states no unit ("1" is that of a pure number)']
    """
    return list(_faults(record_type, record_type.__name__, set()))


def _faults(record_type: type, place: str, seen: set[type]) -> Iterator[str]:
    if record_type in seen:
        return
    seen.add(record_type)
    for field in fields_of(record_type):
        fact, where = field.fact or _PLAIN, f"{place}.{field.name}"
        if _holds_float(field.annotation):
            if not fact.unit:
                yield f'{where} is a quantity and states no unit ("1" is that of a pure number)'
            yield from _other_unit(where, field.name, fact.unit)
        for view in ("attribute", "index"):
            for shown in fact.shown(view):
                if shown.of and shown.unit is None:
                    yield f'{where} is stated as {shown.name!r} without a unit ("" is that of text)'
                unit = fact.unit if shown.unit is None else shown.unit
                yield from _other_unit(f"{where}, stated as {shown.name!r},", shown.name, unit)
        for nested in nested_records(field.annotation):
            yield from _faults(nested, where, seen)


def unit_of_name(name: str) -> str:
    """Return the unit that a name ends in, as :data:`vent_family.files.step.units.UNITS` has it.

    Examples
    --------
    >>> unit_of_name("air_flow_m3_h"), unit_of_name("mass_g"), unit_of_name("slat_count")
    ('m3/h', 'g', '')
    """
    ends = [end for end in _UNIT_OF_NAME if name.endswith(f"_{end}")]
    return _UNIT_OF_NAME[max(ends, key=len)] if ends else ""


def _other_unit(what: str, name: str, unit: str) -> Iterator[str]:
    """Yield a sentence if a name ends in another unit than the one that is stated."""
    said = unit_of_name(name) or unit
    if unit and unit != said:
        yield f"{what} has the unit {unit} but a name in {said}"


def _parts(annotation: Any) -> Iterator[Any]:
    """Return the plain types an annotation is made of, records not opened."""
    origin = get_origin(annotation)
    if origin is None:
        yield annotation
    elif origin is Literal:
        yield from {type(value) for value in get_args(annotation)}
    elif origin in (Union, types.UnionType) or issubclass(origin, tuple | list | Mapping):
        for part in get_args(annotation):
            yield from _parts(part)
    else:
        # Annotated, inside a list or a tuple.
        yield from _parts(get_args(annotation)[0])


def _holds_float(annotation: Any) -> bool:
    return any(part is float for part in _parts(annotation))


def nested_records(annotation: Any) -> list[type]:
    """Return the types of records that a field holds."""
    return [part for part in _parts(annotation) if is_record(part)]
