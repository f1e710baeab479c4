"""A registry of interchangeable objects by name: slat forms, families.

Everything that depends on which form or family a row names is asked of the registered object, so a
new one is a new object and nothing else. An object is checked against its protocol when it is
registered: one that lacks a member is refused there and then, not at the first vent that needs it.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final, Generic, Protocol, TypeVar

from vent_family.catalog.vocabulary import Vocabulary

_ABSENT: Final = object()


class Named(Protocol):
    """What a registry needs of an object by itself."""

    @property
    def name(self) -> str:
        """The name a cell of the catalogue gives it."""
        ...


Member = TypeVar("Member", bound=Named)
Entry = TypeVar("Entry")


class Registry(Generic[Member, Entry]):
    """Objects of one protocol by name, each admitted to the catalogue's vocabulary.

    Parameters
    ----------
    protocol
        the protocol class whose public members every object must have
    vocabulary
        the catalogue's names; a name it does not know yet is admitted
    entry
        returns from an object what the vocabulary keeps of it
    """

    def __init__(
        self, protocol: type[Any], vocabulary: Vocabulary[Entry], entry: Callable[[Member], Entry]
    ) -> None:
        self._protocol = protocol
        self._vocabulary = vocabulary
        self._entry = entry
        self._members: dict[str, Member] = {}

    def __iter__(self) -> Iterator[Member]:
        """Yield the registered objects in the order of registration."""
        return iter(tuple(self._members.values()))

    def __contains__(self, name: object) -> bool:
        """True if an object of this name is registered."""
        return name in self._members

    def __getitem__(self, name: str) -> Member:
        """Return the object of a name.

        Raises
        ------
        LookupError
            if none is registered under that name
        """
        if name not in self._members:
            raise LookupError(
                f"no {self._vocabulary.kind} named {name} is registered; there are"
                f" {', '.join(self._members)}"
            )
        return self._members[name]

    def register(self, member: Member) -> None:
        """Add an object.

        Raises
        ------
        TypeError
            if it lacks a member of the protocol, or has a plain value where a function is needed,
            or a function of other parameters
        ValueError
            if its name is taken or cannot stand in a cell
        """
        kind = self._vocabulary.kind
        for name in members_of(self._protocol):
            fault = _fault(member, self._protocol, name)
            if fault:
                own = member.name if name != "name" else type(member).__name__
                raise TypeError(f"the {kind} {own} {fault}")
        if member.name in self._members:
            raise ValueError(f"there is a {kind} named {member.name} already")
        if member.name not in self._vocabulary:
            self._vocabulary.admit(member.name, self._entry(member))
        self._members[member.name] = member

    def withdraw(self, name: str) -> None:
        """Take an object out again, and its name out of the catalogue unless it is built in.

        Raises
        ------
        LookupError
            if none is registered under that name
        """
        self[name]
        del self._members[name]
        if name not in self._vocabulary.own:
            self._vocabulary.withdraw(name)

    @contextmanager
    def registered(self, member: Member) -> Iterator[Member]:
        """Register an object for the length of a ``with`` block; raises as :meth:`register`."""
        self.register(member)
        try:
            yield member
        finally:
            self.withdraw(member.name)


def members_of(protocol: type[Any]) -> tuple[str, ...]:
    """Return the public members a protocol class asks for, ``name`` first, then by name."""
    found: set[str] = set()
    for base in protocol.__mro__:
        if base is not Protocol and base.__module__ not in ("builtins", "typing"):
            found.update(inspect.get_annotations(base), vars(base))
    return tuple(
        sorted((n for n in found if not n.startswith("_")), key=lambda n: (n != "name", n))
    )


def _may_be_none(protocol: type[Any], name: str) -> bool:
    """True if the protocol's annotation of a value allows for ``None``."""
    asked = getattr(protocol, name, None)
    if isinstance(asked, property):
        annotation = inspect.get_annotations(asked.fget).get("return")  # type: ignore[arg-type]
    else:
        found = (inspect.get_annotations(base).get(name) for base in protocol.__mro__)
        annotation = next((a for a in found if a is not None), None)
    return not inspect.isfunction(asked) and "None" in str(annotation)


def _fault(member: object, protocol: type[Any], name: str) -> str:
    """Return what is wrong with a member, as the end of a sentence; empty if nothing is."""
    asked = getattr(protocol, name, None)
    has = getattr(member, name, _ABSENT)
    # An object that only inherits the protocol's empty body has not got the member.
    inherited = asked is not None and getattr(type(member), name, None) is asked
    if has is _ABSENT or inherited or (has is None and not _may_be_none(protocol, name)):
        return f"lacks the member {name}"
    if not inspect.isfunction(asked):
        return ""
    if not callable(has):
        return f"has a value where the member {name} must be a function"
    wanted = list(inspect.signature(asked).parameters)[1:]
    given = list(inspect.signature(has).parameters)
    if given != wanted:
        return (
            f"has a member {name} that takes ({', '.join(given)}) instead of ({', '.join(wanted)})"
        )
    return ""
