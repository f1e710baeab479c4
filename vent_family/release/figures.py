"""The figures of a part's record: what was found out, as numbers and verdicts that can be compared.

Time stamps, hashes, names of files and sentences are no figures: they change without anything else
being found out. The record's own types say what each number means and its unit.
"""

from __future__ import annotations

import hashlib
import json
import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, Union, get_args, get_origin

from vent_family.evidence.facts import Fact, fields_of, is_record, nested_records
from vent_family.evidence.outcomes import RANK
from vent_family.evidence.rounding import worth

NO_FIGURES: Final = frozenset(
    {
        "schema_version",
        "generator",
        "time_stamp",
        "identity",
        "catalogue",
        "release",
        "mesh",
        "shop",
        "standing",
        "files",
    }
)
"""Sections of the record that say who made what from what, not what was found out."""
HASH_DIGITS: Final = 16
_BADNESS: Final[dict[str, float]] = {
    **{outcome: float(rank) for outcome, rank in RANK.items()},
    "not checked": 0.5,
    "weak": 2.0,
    "pass": 0.0,
    "not_run": 1.0,
    "fail": 2.0,
}
"""Verdicts from good to bad."""
_MOST_WORDS: Final = 60
"""Longer texts do not tell the items of a list apart for people."""

Told = str | int | float | bool


@dataclass(frozen=True, slots=True)
class Figure:
    """One number or verdict of a record.

    ``words`` say what it is, ``value`` is rounded to what it is worth, in ``unit``; ``rank`` is 0
    for what the library's index states, 1 for an attribute of STEP files, 2 for the others.
    """

    words: str
    value: Told
    unit: str = ""
    rank: int = 2

    def text(self) -> str:
        """Return value and unit."""
        if isinstance(self.value, bool):
            return "yes" if self.value else "no"
        number = f"{self.value:.10g}" if isinstance(self.value, float) else str(self.value)
        return f"{number} {self.unit}" if self.unit else number


Figures = Mapping[str, Figure]
"""Figures by their place in the record."""


def figures(record: Mapping[str, Any], record_type: type) -> dict[str, Figure]:
    """Return the figures of a record that was read or is to be written, by their place in it.

    ``record_type`` is the record's model, which says what its fields mean; what it does not know,
    as of a record that an earlier version wrote, has the name of its field for words.
    """
    kept = {name: value for name, value in record.items() if name not in NO_FIGURES}
    return dict(_of_record(kept, record_type, "", ""))


def evidence_hash(found: Figures) -> str:
    """Return what identifies a part's figures: 16 hexadecimal digits of their SHA-256."""
    values = {place: figure.value for place, figure in found.items()}
    text = json.dumps(values, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:HASH_DIGITS]


def got_worse(before: Figures, now: Figures) -> list[str]:
    """Return the verdicts that are worse now, or new and bad, in words."""
    found = []
    for place, figure in now.items():
        badness = _badness(figure)
        was = before.get(place)
        if badness is None or (was is not None and _badness(was) is None):
            continue
        if badness > (0.5 if was is None else _badness(was) or 0.0):
            found.append(_told(figure, was))
    return found


def other_figures(before: Figures, now: Figures) -> list[str]:
    """Return what changed but for verdicts that got worse, key figures first, in words.

    What only one of two records states comes last.
    """
    worse = set(got_worse(before, now))
    changed = [
        (figure.rank, _told(figure, before[place]))
        for place, figure in now.items()
        if place in before and figure.value != before[place].value
    ]
    found = [words for _, words in sorted(changed, key=lambda c: c[0]) if words not in worse]
    found += [
        words
        for place, figure in now.items()
        if place not in before and (words := _told(figure, None)) not in worse
    ]
    gone = [figure for place, figure in before.items() if place not in now]
    return found + [f"{figure.words}: no longer stated, before {figure.text()}" for figure in gone]


def _told(now: Figure, before: Figure | None) -> str:
    was = "not stated before" if before is None else f"before {before.text()}"
    return f"{now.words}: {now.text()}, {was}"


def _badness(figure: Figure) -> float | None:
    """Return how bad a verdict is; ``None`` for what is no verdict."""
    return _BADNESS.get(figure.value) if isinstance(figure.value, str) else None


def _of_record(
    record: Mapping[str, Any], kind: type | None, place: str, context: str
) -> Iterator[tuple[str, Figure]]:
    """Yield the figures of a record; ``context`` are the words for where it stands."""
    known = {field.name: field for field in fields_of(kind)} if kind is not None else {}
    for name, value in record.items():
        field = known.get(name)
        fact = (field.fact if field else None) or Fact()
        where = f"{place}.{name}" if place else name
        annotation = field.annotation if field else None
        if isinstance(value, Mapping):
            nested = _matching(annotation, value)
            yield from _of_record(value, nested, where, _within(context, name))
        elif _holds_records(value):
            yield from _of_items(value, annotation, where, _within(context, name))
        elif _is_told(value, annotation):
            unit = _unit(fact.unit, record)
            words = fact.meaning or name.replace("_", " ")
            rank = 0 if fact.index else 1 if fact.attribute else 2
            told = _told_value(value, unit)
            yield where, Figure(_within(context, words, ": "), told, unit, rank)


def _of_items(
    items: Sequence[Mapping[str, Any]], annotation: Any, place: str, context: str
) -> Iterator[tuple[str, Figure]]:
    """Yield the figures of a list's records, each known by its name rather than by its place."""
    first = _matching(annotation, items[0])
    for key, item in zip(_keys(items, first), items, strict=True):
        kind = _matching(annotation, item)
        yield from _of_record(item, kind, f"{place}[{key}]", _within(context, key, " "))


def _keys(items: Sequence[Mapping[str, Any]], kind: type | None) -> list[str]:
    """Return what tells items apart: their first field that is different in each, or numbers.

    First in the type that declares them, where what is asked for stands before what is found; files
    hold them in another order.
    """
    declared = [field.name for field in fields_of(kind)] if kind is not None else []
    for name in ("name", *declared, *sorted(items[0])):
        values = [item.get(name) for item in items]
        plain = all(isinstance(v, str | int | float) and len(str(v)) <= _MOST_WORDS for v in values)
        if plain and len(set(values)) == len(values):
            return [f"{v:g}" if isinstance(v, float) else str(v) for v in values]
    return [str(number) for number in range(1, len(items) + 1)]


def _holds_records(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and isinstance(value[0], Mapping)


def _matching(annotation: Any, record: Mapping[str, Any]) -> type | None:
    """Return the type of record that an annotation admits and whose fields are most alike."""
    kinds = [] if annotation is None else nested_records(annotation)
    if not kinds:
        return annotation if is_record(annotation) else None
    return max(kinds, key=lambda k: len({f.name for f in fields_of(k)} & set(record)))


def _is_told(value: Any, annotation: Any) -> bool:
    """Tell whether a value is a number, a list of them, or a word of a closed list."""
    if isinstance(value, str):
        return _is_word(annotation) or value in _BADNESS
    if isinstance(value, list | tuple):
        return bool(value) and all(_is_told(v, _items_of(annotation)) for v in value)
    return isinstance(value, int | float)


def _is_word(annotation: Any) -> bool:
    """Tell whether an annotation admits words of a closed list only."""
    origin = get_origin(annotation)
    if origin is Literal:
        return True
    if origin in (Union, types.UnionType):
        return any(_is_word(part) for part in get_args(annotation))
    return False


def _items_of(annotation: Any) -> Any:
    arguments = get_args(annotation)
    return arguments[0] if arguments else None


def _told_value(value: Any, unit: str) -> Told:
    if isinstance(value, list | tuple):
        return " / ".join(Figure("", _told_value(v, unit)).text() for v in value)
    told: Told = value if isinstance(value, bool) else worth(value, unit)
    return told


def _unit(unit: str, record: Mapping[str, Any]) -> str:
    """Return a unit in words; pure numbers, and what another field tells, have none."""
    if unit.startswith("{"):
        unit = str(record.get(unit.strip("{}"), ""))
    return "" if unit == "1" or unit.startswith("unit of") else unit


def _within(context: str, words: str, between: str = ", ") -> str:
    """Return words with where they belong before them."""
    words = words if between == ": " else words.replace("_", " ")
    return f"{context}{between}{words}" if context else words
