"""What a kind of evidence brings, and the registry of all kinds.

A kind computes a frozen report from a part's context and says how the report stands in the part's
record. JSON section, schema, STEP attributes, index and report tables follow from the record's
facts; a kind writes no file.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import (
    TYPE_CHECKING,
    Any,
    ClassVar,
    Final,
    Generic,
    Protocol,
    TypeVar,
    get_type_hints,
    runtime_checkable,
)

from pydantic import create_model

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import View, facts_table, faults, fields_of, nested_records
from vent_family.evidence.result import CheckResult

DRAWN: Final = frozenset({"solid_in_file", "volume_mm3", "surface_mm2", "mass_g"})
"""Attributes by which every STEP file tells what solid stands in it; no evidence states them."""
EXACT: Final = "exact"
"""What ``solid_in_file`` says of a solid that is all that was computed, true threads included."""

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from vent_family.evidence.context import PartContext

Report = TypeVar("Report")


@runtime_checkable
class Rendered(Protocol):
    """A rendered scene: something that can be had as a PNG image."""

    def png(self) -> bytes:
        """Render the scene and return it as a PNG image."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A figure or scene of a part, and what it shows in a few words."""

    drawn: Figure | Rendered
    caption: str


class Kind(ABC, Generic[Report]):
    """A kind of evidence: one object of such a class is registered.

    ``name`` tells kinds apart. ``section`` is the key of the record's section that holds the kind's
    fields; kinds may share one, and "" puts the fields beside the sections. ``binding`` kinds must
    pass their checks before a part is released; what the others find stands in the record only.
    ``heading`` is that of the kind's chapter in the part's report, "" for kinds that have none.
    """

    name: ClassVar[str]
    section: ClassVar[str]
    record_type: ClassVar[type[Frozen]]
    binding: ClassVar[bool] = True
    heading: ClassVar[str] = ""

    @abstractmethod
    def compute(self, context: PartContext) -> Report:
        """Return the frozen report of a part; asked once per part."""

    @abstractmethod
    def record(self, context: PartContext) -> Frozen:
        """Return the report as it stands in the part's record."""

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return the verdicts; none unless a kind says otherwise."""
        return ()

    def figures(self, context: PartContext) -> dict[str, Picture]:
        """Return pictures by the ending of their file's name; none unless a kind says otherwise."""
        return {}

    def sentences(self, context: PartContext) -> list[str]:
        """Return what people should know first; nothing unless a kind says otherwise."""
        return []

    def chapter(self, context: PartContext) -> list[str]:
        """Return the lines of the kind's chapter under its heading: a table of all facts.

        Where there are none, the heading is left out, too.
        """
        return facts_table(context.record(self))


class Kinds:
    """The kinds of evidence in the order in which their facts are stated."""

    def __init__(self) -> None:
        self._kinds: list[Kind[Any]] = []

    def __iter__(self) -> Iterator[Kind[Any]]:
        """Go through all kinds in order."""
        return iter(tuple(self._kinds))

    def register(self, kind: Kind[Any]) -> None:
        """Add a kind of evidence.

        Raises
        ------
        ValueError
            saying all that is wrong: a name that is taken, a field that a section holds already,
            a quantity that states no unit, a name that another kind states
        """
        wrong = faults(kind.record_type)
        if any(k.name == kind.name for k in self._kinds):
            wrong.append(f"the name {kind.name!r} is taken")
        mine = {f.name for f in fields_of(kind.record_type)}
        for other in self._kinds:
            if other.section == kind.section:
                both = sorted(mine & {f.name for f in fields_of(other.record_type)})
                wrong += [f"{other.name} has the field {name!r} already" for name in both]
            names = stated_names(kind.record_type) & stated_names(other.record_type)
            wrong += [f"{other.name} states {name!r} already" for name in sorted(names)]
        drawn = DRAWN & stated_names(kind.record_type)
        wrong += [f"the solid in a file states {name!r} already" for name in sorted(drawn)]
        if wrong:
            raise ValueError(f"evidence {kind.name!r}: {'; '.join(wrong)}")
        self._kinds.append(kind)

    @contextmanager
    def registered(self, kind: Kind[Any]) -> Iterator[None]:
        """Have a kind of evidence for a while.

        Raises
        ------
        ValueError
            as :meth:`register`
        """
        self.register(kind)
        try:
            yield
        finally:
            self._kinds.remove(kind)

    def sections(self) -> dict[str, tuple[Kind[Any], ...]]:
        """Return the kinds of each section of the record, in order."""
        found: dict[str, tuple[Kind[Any], ...]] = {}
        for kind in self._kinds:
            found[kind.section] = (*found.get(kind.section, ()), kind)
        return found

    def record_fields(self) -> dict[str, tuple[Any, Any]]:
        """Return the fields, each with its type and default, that all kinds give a record."""
        found: dict[str, tuple[Any, Any]] = {}
        sections = self.sections()
        for kind in self._kinds:
            if kind.section == "":
                found |= _fields(kind.record_type)
            elif kind.section not in found:
                found[kind.section] = (section_type(sections[kind.section]), ...)
        return found


@lru_cache(maxsize=32)
def section_type(kinds: tuple[Kind[Any], ...]) -> type[Frozen]:
    """Return the model of a section: the record of its only kind, or all fields of several."""
    first = kinds[0].record_type
    if len(kinds) == 1:
        return first
    fields: dict[str, Any] = {}
    for kind in kinds:
        fields |= _fields(kind.record_type)
    return create_model(first.__name__, __base__=Frozen, __doc__=first.__doc__, **fields)


def section_record(kinds: tuple[Kind[Any], ...], context: PartContext) -> Frozen:
    """Return a part's section of its record."""
    records = [context.record(kind) for kind in kinds]
    if len(records) == 1:
        return records[0]
    values = {f.name: getattr(r, f.name) for r in records for f in fields_of(type(r))}
    return section_type(kinds)(**values)


def _fields(record_type: type[Frozen]) -> dict[str, tuple[Any, Any]]:
    hints = get_type_hints(record_type, include_extras=True)
    return {
        name: (hints[name], ... if info.is_required() else info.default)
        for name, info in record_type.model_fields.items()
    }


def stated_names(record_type: type, view: View = "attribute") -> set[str]:
    """Return the names that a record's type states, before anything is filled into them."""
    names = {s.name for f in fields_of(record_type) if f.fact for s in f.fact.shown(view)}
    for field in fields_of(record_type):
        for nested in nested_records(field.annotation):
            names |= stated_names(nested, view)
    return names
