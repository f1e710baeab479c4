"""Members of a vent as they were released: solids, colours and data that its STEP files hold."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import cadquery as cq

from vent_family.base.limits import STEP_VOLUME
from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.members import VENT, BodyData, Detail, FittedBody
from vent_family.evidence.kind import DRAWN, EXACT
from vent_family.files.step.read import ReadPart, read_step
from vent_family.geometry.measure import volume_mm3
from vent_family.release.bar import STANDING
from vent_family.release.pinned.shelf import AGAIN, Release

_VENT: Final = ".step"
_ENVELOPE: Final = "-envelope.step"
_ASSEMBLY: Final = "-assembly.step"
_PANEL: Final = "panel"
"""The piece of wall in a published assembly: it is no member of the vent."""
_COLOUR_DIGITS: Final = 4
"""A colour is read as a float of half the length; so many decimals are what was written."""


def released_vent(release: Release, detail: Detail) -> FittedBody:
    """Return a vent as its STEP file holds it, all of it or its envelope.

    Raises
    ------
    InputError
        if a file is not as it was published, or holds no valid solid of the stated volume
    """
    record = release.record()
    read = _parts(release, _VENT)[0]
    path = release.file(_VENT)
    if _attributes(read).get("solid_in_file") == EXACT:
        told = float(told_of(release, record, "geometry", "volume_mm3"))
        if not _alike(volume_mm3(read.shape.wrapped), told):
            raise InputError([_differs(path, read, f"the record tells of {told:.1f} mm3")])
    data, shown = _data(read), read
    attributes = dict(data.attributes) | {"issue": release.issue, STANDING: release.standing}
    if detail == "envelope":
        shown = _parts(release, _ENVELOPE)[0]
        attributes |= {n: v for n, v in _attributes(shown).items() if n in DRAWN}
    data = replace(data, attributes=attributes)
    return FittedBody(VENT, shown.shape, cq.Location(), _colour(shown), data)


def told_of(release: Release, record: Mapping[str, Any], section: str, name: str = "") -> Any:
    """Return a section of a release's record, or what it says under a name.

    Raises
    ------
    InputError
        if the record does not say it: another version published the release
    """
    found = record.get(section)
    if name and found is not None:
        found = found.get(name)
    if found is None:
        raise InputError([of_other_version(release, ".".join(filter(None, (section, name))))])
    return found


def of_other_version(release: Release, lacking: str, why: str = "") -> Problem:
    """Return that a record does not say what an enclosure must know, and what to do."""
    again = AGAIN if release.held == "current" else f"take a later release, or {AGAIN}"
    return Problem(
        "library.record.old",
        f"the record of {release.name} does not say what an enclosure must know: another version"
        f" published it{why and ', '}{why}",
        file=str(release.folder),
        part_number=release.part_number,
        column=lacking,
        place="entry" if "." in lacking else "section",
        suggestion=again,
    )


def released_companions(release: Release) -> tuple[FittedBody, ...]:
    """Return what is fitted with a vent, as its assembly's STEP file holds it.

    Raises
    ------
    InputError
        if a file is not as it was published, or holds no valid solids of the stated volumes
    """
    own = {f"{release.part_number}{ending}" for ending in (_VENT, _ENVELOPE, _ASSEMBLY)}
    if not any(f.name.endswith(".step") and f.name not in own for f in release.files):
        return ()  # nothing is fitted with it: reading the vent once more would find nothing
    # The vent is taken from its own file, and looked at there.
    parts = _parts(release, _ASSEMBLY, unused=(release.part_number,))
    known = {p.part_number: p for p in parts if not p.instances}
    whole = next(p for p in parts if p.instances)
    members = []
    for placed in whole.instances:
        name = placed.part_number.removeprefix(f"{release.part_number}-")
        if name not in (release.part_number, _PANEL):
            read = known[placed.part_number]
            members.append(
                FittedBody(name, read.shape, placed.location, _colour(read), _data(read))
            )
    return tuple(members)


def _parts(release: Release, ending: str, unused: Collection[str] = ()) -> list[ReadPart]:
    """Return the parts of a checked STEP file; each is a valid solid of the volume it states.

    Parts whose numbers are ``unused`` are not looked at.
    """
    path = release.file(ending)
    try:
        parts = read_step(path, mend=False)
    except (OSError, ValueError) as error:
        raise InputError(
            [
                Problem(
                    "library.file.altered",
                    f"the file cannot be read as STEP: {error}",
                    file=str(path),
                    part_number=release.part_number,
                    suggestion=AGAIN,
                )
            ]
        ) from None
    solids = (p for p in parts if not p.instances and p.part_number not in unused)
    amiss = list(_amiss(path, solids))
    if amiss:
        raise InputError(amiss)
    return parts


def _amiss(path: Path, parts: Iterable[ReadPart]) -> Iterator[Problem]:
    for part in parts:
        if len(part.shape.Solids()) != 1 or not part.shape.isValid():
            yield _differs(path, part, "it is no valid solid")
        elif part.volume_mm3 is None or not _alike(volume_mm3(part.shape.wrapped), part.volume_mm3):
            yield _differs(path, part, "the file states another volume")


def _alike(found_mm3: float, told_mm3: float) -> bool:
    return math.isclose(found_mm3, told_mm3, rel_tol=STEP_VOLUME.value)


def _differs(path: Path, part: ReadPart, why: str) -> Problem:
    found = volume_mm3(part.shape.wrapped)
    return Problem(
        "library.solid.differs",
        f"the solid that was read has {found:.1f} mm3: {why}",
        file=str(path),
        part_number=part.part_number,
        suggestion=AGAIN,
    )


def _colour(part: ReadPart) -> tuple[float, float, float]:
    red, green, blue = (part.colour_rgb or (0.5, 0.5, 0.5))[:3]
    return round(red, _COLOUR_DIGITS), round(green, _COLOUR_DIGITS), round(blue, _COLOUR_DIGITS)


def _attributes(part: ReadPart) -> dict[str, Any]:
    return {a.name: a.value for a in part.attributes}


def _data(part: ReadPart) -> BodyData:
    return BodyData(
        part.part_number,
        part.revision,
        part.description,
        part.material or "",
        part.density_g_cm3 or 0.0,
        _attributes(part),
    )
