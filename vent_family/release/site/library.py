"""What a site shows, as plain data: a generation's parts, their files, and what went before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

Status = Literal["current", "superseded", "withdrawn"]
"""Whether a release is the one in force, has a newer one, or is no longer offered."""


@dataclass(frozen=True, slots=True)
class SiteFile:
    """A part's file: name, size in bytes, SHA-256 as 64 hexadecimal digits."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class SiteRelease:
    """One line of a part's history, as in the register of releases.

    Attributes
    ----------
    revision, issue
        Which release.
    date
        When it was released, as text.
    kind
        What kind of change it was.
    changes
        The changed figures, a sentence each.
    """

    revision: str
    issue: int
    date: str
    kind: str
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SitePart:
    """One release of a part.

    Attributes
    ----------
    part_number, revision, issue, family
        Which part and which release.
    status
        Whether it is the release in force.
    standing
        "current", or why the part must not be fitted.
    href
        Path from the site's folder to the part's, "" or with a slash at its end.
    record
        The part's record as it stands in its JSON file.
    files
        The files in the part's folder.
    history
        All releases of the part, the newest first.
    """

    part_number: str
    revision: str
    issue: int
    family: str
    status: Status
    standing: str
    href: str
    record: Mapping[str, Any]
    files: tuple[SiteFile, ...]
    history: tuple[SiteRelease, ...] = ()


@dataclass(frozen=True, slots=True)
class SiteLibrary:
    """One generation of a library: ``parts`` in force, and an ``archive`` of what was.

    ``time`` is when it was published, as text; ``catalogue`` is the catalogue's name.
    """

    generation: str
    time: str
    catalogue: str
    parts: tuple[SitePart, ...]
    archive: tuple[SitePart, ...] = ()
