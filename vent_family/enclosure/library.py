"""The parts of a published library, as they were released: the solids that its files hold."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from copy import copy
from dataclasses import replace
from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import Any, Final, TypeVar

import cadquery as cq
from pydantic import ValidationError

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.near import unknown_part
from vent_family.enclosure.members import Detail, FittedBody, checked_detail
from vent_family.enclosure.released import (
    of_other_version,
    released_companions,
    released_vent,
    told_of,
)
from vent_family.enclosure.vents import Vents
from vent_family.evidence.air.kind import AIR
from vent_family.evidence.air.stated import StatedAir, air_stated_by
from vent_family.evidence.installed.kind import INSTALLED
from vent_family.evidence.installed.record import InstallationRecord
from vent_family.release.pinned.lockfile import read_pins, write_pins
from vent_family.release.pinned.news import PinNews, pins_news
from vent_family.release.pinned.pin import Pin
from vent_family.release.pinned.shelf import Release, Shelf
from vent_family.release.publish.manifest import in_short

_Read = TypeVar("_Read")
_KEPT: Final = 64
"""Vents and records that are kept once they were read."""


class Library(Vents):
    """The parts of a published library, each as one release of it.

    Without ``pins`` that is the current release of every part, with them the very release that
    each pin names, and no other part. Size and SHA-256 of a file are compared with the library's
    manifest before it is used; what was read is kept. A library that is published into meanwhile
    changes nothing here.

    A release that is no longer predicted to hold, and a part that was withdrawn, is refused unless
    its part number stands in ``allow``; why it is not to be fitted then stands in the attribute
    ``standing`` of the vent.

    Parameters
    ----------
    folder
        the library's folder
    pins
        a lock file: which releases to give
    allow
        numbers of parts that are given though they are not to be fitted

    Raises
    ------
    InputError
        if the folder holds no library, index or manifest are not as they were published, the lock
        file cannot be read, or the library does not hold a pinned release
    """

    def __init__(
        self,
        folder: str | PathLike[str] = "exports",
        *,
        pins: str | PathLike[str] | None = None,
        allow: Collection[str] = (),
    ) -> None:
        if isinstance(allow, str):
            allow = (allow,)
        shelf = Shelf(Path(folder))
        file, pinned = "", None
        if pins is not None:
            file, pinned = str(pins), read_pins(Path(pins))
        self._shelf, self._allow, self._lock_file = shelf, frozenset(allow), file
        self._chosen = _chosen(shelf, pinned, allow)
        self._vents = lru_cache(maxsize=_KEPT)(released_vent)
        self._companions = lru_cache(maxsize=_KEPT)(released_companions)
        self._records = lru_cache(maxsize=_KEPT)(Release.record)

    @property
    def part_numbers(self) -> tuple[str, ...]:
        """The numbers of the library's parts, of the pinned ones if there are pins."""
        return tuple(self._chosen)

    def at(self, part_number: str, revision: str, issue: int | None = None) -> Library:
        """Return the same library with another release of a part, current or from the archive.

        Of every revision the last issue is in the archive.

        Raises
        ------
        InputError
            if the library holds no such release
        """
        release = self._shelf.at(part_number, revision, issue)
        other = copy(self)
        other._chosen = {**self._chosen, part_number: release}
        return other

    def releases(self, part_number: str) -> tuple[Release, ...]:
        """Return the releases of a part that can be had, the earliest first.

        Raises
        ------
        InputError
            if the library holds no such part
        """
        self._shelf.latest(part_number)
        return self._shelf.releases(part_number)

    def release(self, part_number: str) -> Release:
        """Return the release that is given of a part: revision, issue and standing.

        Raises
        ------
        InputError
            if there is no such part, or it is not to be fitted
        """
        release = self._chosen.get(part_number)
        if release is None:
            release = self._unchosen(part_number)
        if release.is_marked and part_number not in self._allow:
            raise InputError([_unfit(self._shelf, release)])
        return release

    def record(self, part_number: str) -> dict[str, Any]:
        """Return the record of a part's release: everything that was found out about it.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, or its record was altered
        """
        return dict(self._records(self.release(part_number)))

    def installation(self, part_number: str) -> InstallationRecord:
        """Return what a part asks of the wall and of the room in front and behind.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, its record was altered, or another
            version published it
        """
        return self._told(part_number, INSTALLED.section, InstallationRecord.model_validate)

    def airway(self, part_number: str) -> StatedAir:
        """Return the way of the air through a part as it was released, in any air at any flow.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, its record was altered, or another
            version published it
        """
        return self._told(part_number, AIR.section, lambda s: air_stated_by(part_number, s))

    def _told(self, part_number: str, name: str, read: Callable[[Any], _Read]) -> _Read:
        """Return what a section of a release's record says, or refuse with why it does not."""
        release = self.release(part_number)
        section = told_of(release, self._records(release), name)
        try:
            return read(section)
        except ValidationError as error:
            why = in_short(error)
        raise InputError([of_other_version(release, name, why)])

    def panel_mm(self, part_number: str) -> float:
        """Return the thickness of wall, mm, that a part was laid out for.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, its record was altered, or another
            version published it
        """
        release = self.release(part_number)
        record = self._records(release)
        return float(told_of(release, record, "opening", "panel_thickness_mm"))

    def members(self, part_number: str, detail: Detail = "exact") -> tuple[FittedBody, ...]:
        """Return what is fitted with a part, the vent first: the solids of its STEP files.

        With ``detail`` ``"envelope"`` the vent is its outer form only; what is fitted with it
        stays as it was published, threads included.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, or a file was altered
        ValueError
            if there is no such detail
        """
        release = self.release(part_number)
        vent = self._vents(release, checked_detail(detail))
        return (vent, *self._companions(release))

    def vent(self, part_number: str, *, detail: Detail = "exact") -> cq.Shape:
        """Return the vent's solid at its datum, as its STEP file holds it; mm.

        ``detail`` is ``"exact"``, or ``"envelope"`` for its outer form only: a solid of few faces,
        for assemblies of hundreds.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, or a file was altered
        ValueError
            if there is no such detail
        """
        return self._vents(self.release(part_number), checked_detail(detail)).shape

    def lock(self, file: str | PathLike[str], part_numbers: Iterable[str]) -> tuple[Pin, ...]:
        """Pin parts, at the releases that are given here, in a lock file; return all its pins.

        Lines of other parts stay as they are; there need be no file yet.

        Raises
        ------
        InputError
            if there is no such part, it is not to be fitted, a file of it was altered, or the lock
            file cannot be read; nothing is written then
        OSError
            if the file cannot be written
        """
        path = Path(file)
        if isinstance(part_numbers, str):
            part_numbers = (part_numbers,)
        pins = read_pins(path) if path.exists() else {}
        problems: list[Problem] = []
        for number in part_numbers:
            try:
                release = self.release(number)
                problems += release.faults()
                pins[number] = release.pin
            except InputError as error:
                problems += error.problems
        if problems:
            raise InputError(problems)
        write_pins(path, pins.values())
        return tuple(pins.values())

    def news(self) -> tuple[PinNews, ...]:
        """Return what became of the releases that are given here, the weightiest first.

        What is no longer predicted to hold comes first, then what was withdrawn, then changes of
        what other parts must fit. Without pins there is no news but of marked parts.

        Raises
        ------
        InputError
            if a record was altered
        """
        return pins_news(self._shelf, [release.pin for release in self._chosen.values()])

    def _unchosen(self, part_number: str) -> Release:
        """Return the last release of a part that was withdrawn; tell why there is none of others.

        Raises
        ------
        InputError
            if the library holds no such part, or it is not pinned
        """
        if not self._lock_file:
            return self._shelf.latest(part_number)
        problem = unknown_part(
            part_number,
            self._chosen,
            file=self._lock_file,
            message="the lock file has no line for this part",
            otherwise="lock the part with Library.lock",
        )
        raise InputError([replace(problem, code="pins.part.missing")])


def _chosen(
    shelf: Shelf, pins: Mapping[str, Pin] | None, allow: Collection[str]
) -> dict[str, Release]:
    """Return the release that is given of each part.

    Raises
    ------
    InputError
        with every pinned release that the library does not hold, and unknown parts in ``allow``
    """
    chosen: dict[str, Release] = {}
    problems: list[Problem] = []
    if pins is None:
        chosen = {n: r for n in shelf.part_numbers if (r := shelf.current(n)) is not None}
    for number, pin in (pins or {}).items():
        try:
            chosen[number] = shelf.pinned(pin)
        except InputError as error:
            problems += error.problems
    for number in allow:
        try:
            shelf.latest(number)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return chosen


def _unfit(shelf: Shelf, release: Release) -> Problem:
    """Return why a release is not to be fitted."""
    withdrawn = shelf.current(release.part_number) is None
    return Problem(
        "library.release.withdrawn" if withdrawn else "library.release.marked",
        f"release {release.name} is not to be fitted: {release.standing}",
        file=str(shelf.layout.root),
        part_number=release.part_number,
        suggestion=f'take another part, or allow this one by name: allow=["{release.part_number}"]',
    )
