"""What stands in a library's manifest and index, and how they are read and written.

The manifest lists everything of one generation with sizes and hashes; the index is what tools read
first: a flat entry for every part, and which manifest belongs to it, by its hash.
"""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from typing import Annotated, Any, Final, Literal

from pydantic import Field, ValidationError

from vent_family.base.frozen import Frozen
from vent_family.base.problems import InputError, Problem
from vent_family.base.schemas import identified
from vent_family.base.version import VERSION
from vent_family.release.cautions import CAUTION
from vent_family.release.publish.layout import (
    FOLDER,
    GENERATIONS,
    MANIFEST_NAME,
    Layout,
    read_json,
)
from vent_family.release.written import WrittenFile, hashed

LIBRARY_VERSION: Final = "2.0"
"""Version of the schemas of manifest and index; 1.0 had folders named by part number alone."""
_HASH_TOLD: Final = 16
"""Digits of a hash in a sentence."""
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Why = Literal["superseded", "withdrawn"]


class FileEntry(Frozen):
    """A file by its path within its folder, with size in bytes and SHA-256."""

    name: str
    size_bytes: int
    sha256: Hash

    @classmethod
    def of(cls, file: WrittenFile) -> FileEntry:
        """Return the entry of a file on the disk."""
        return cls(name=file.name, size_bytes=file.size_bytes, sha256=file.sha256)


class HistoryEntry(Frozen):
    """One release in a part's history: when, what kind of change, what it changed, in words."""

    revision: str
    issue: int
    released: str
    change: str
    changes: list[str]


class PartEntry(Frozen):
    """One release of a part: what it is, where it lies, what it was made from, its files.

    ``made_from`` stands for all of ``key``. ``facts`` are those that the record gives the index.
    ``line`` is its line in the register of releases; ``history`` begins with this release.
    """

    part_number: str
    revision: str
    issue: int
    folder: Annotated[str, Field(pattern=FOLDER)]
    content: Hash
    made: str
    made_from: str
    key: dict[str, str]
    row_hash: str
    publish_if: str
    water_predicted: str
    standing: str
    facts: dict[str, str | int | float]
    line: str
    history: list[HistoryEntry]
    files: list[FileEntry]

    def flat(self) -> dict[str, Any]:
        """Return the entry as the index has it."""
        own = self.model_dump(exclude={"key", "facts", "files", "content", "line", "history"})
        return {**self.facts, **own, "files": [f.name for f in self.files]}


class ArchivedEntry(Frozen):
    """A release that is no longer current but stays reachable, why, and since when."""

    release: PartEntry
    why: Why
    since: str

    def flat(self) -> dict[str, Any]:
        """Return the entry as the index has it."""
        return {**self.release.flat(), "archived": self.why, "archived_since": self.since}


class UnpublishedEntry(Frozen):
    """A row of which nothing was published in its last try, and why.

    Tried with the same key again, it would come to the same.
    """

    part_number: str
    row: int
    status: str
    outcome: str
    message: str
    water_predicted: str
    made_from: str
    key: dict[str, str]
    problems: list[dict[str, Any]]


class Manifest(Frozen):
    """Everything of one generation of a library."""

    schema_version: Literal["2.0"] = LIBRARY_VERSION
    generation: str
    content: Hash
    made: str
    generator: str = f"vent-family {VERSION}"
    caution: str
    catalogue: FileEntry
    publish_if: str
    signed_by: str
    shop: dict[str, str]
    key: dict[str, str]
    parts: list[PartEntry]
    archive: list[ArchivedEntry]
    unpublished: list[UnpublishedEntry]
    problems: list[dict[str, Any]]
    site: list[FileEntry]
    site_made_by: str

    @classmethod
    def of(cls, made: datetime, **fields: Any) -> Manifest:
        """Return the manifest of what is to be published, made at a time with its UTC offset.

        ``content`` is the hash of everything but that time; the generation's name has both.
        """
        stated = {"generation": "", "content": "0" * 64, "made": "", "caution": CAUTION, "site": []}
        bare = cls(**stated, **fields)
        text = json.dumps(
            bare.model_dump(mode="json", exclude={"generation", "content", "made"}),
            sort_keys=True,
            separators=(",", ":"),
        )
        content = hashlib.sha256(text.encode("ascii")).hexdigest()
        return bare.model_copy(
            update={
                "generation": f"{made.astimezone(UTC):%Y%m%dT%H%M%SZ}-{content[:8]}",
                "content": content,
                "made": made.isoformat(timespec="seconds"),
            }
        )


class Index(Frozen):
    """The library's index: what is published, and the manifest that lists its files."""

    schema_version: Literal["2.0"] = LIBRARY_VERSION
    generation: str
    made: str
    generator: str
    caution: str
    manifest: FileEntry
    parts: list[dict[str, Any]]
    archive: list[dict[str, Any]]


def index_of(manifest: Manifest, file: WrittenFile) -> Index:
    """Return the index that belongs to a manifest, which lies in ``file``."""
    return Index(
        generation=manifest.generation,
        made=manifest.made,
        generator=manifest.generator,
        caution=manifest.caution,
        manifest=FileEntry.of(file),
        parts=[release.flat() for release in manifest.parts],
        archive=[release.flat() for release in manifest.archive],
    )


def library_schemas() -> dict[str, dict[str, Any]]:
    """Return the JSON schemas of manifest and index by name."""
    return {
        name: identified(kind.model_json_schema(), name, LIBRARY_VERSION, kind.__doc__ or "")
        for name, kind in (("manifest", Manifest), ("library", Index))
    }


def manifest_name(generation: str) -> str:
    """Return the path of a generation's manifest within the library."""
    return f"{GENERATIONS}/{generation}/{MANIFEST_NAME}"


def read_published(layout: Layout) -> Manifest:
    """Return the manifest of the generation that a library's index names.

    It is not taken on trust: it must have the hash that the index states.

    Raises
    ------
    InputError
        if there is no index, or index or manifest are not as they were published
    """
    index = _read_index(layout)
    name = index.manifest.name
    again = "publish the library again, or take this file from a copy of the library"
    try:
        path = layout.at(name)
        found = hashed(path, name)
        if found.sha256 != index.manifest.sha256:
            why = (
                f"the manifest is not the one that the index names: its SHA-256 is"
                f" {found.sha256[:_HASH_TOLD]}…, named is {index.manifest.sha256[:_HASH_TOLD]}…"
            )
            raise InputError(
                [Problem("library.manifest.altered", why, str(path), suggestion=again)]
            )
        return Manifest.model_validate(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        why = f"the index names generation {index.generation}, which is not there"
        problem = Problem("library.manifest.missing", why, str(layout.root), suggestion=again)
    except ValidationError as error:
        why = f"the manifest cannot be used: {in_short(error)}"
        problem = Problem("library.manifest.unread", why, str(path), suggestion=again)
    except InputError:
        raise
    except (OSError, ValueError) as error:
        why = f"the manifest cannot be read: {error}"
        problem = Problem("library.manifest.unread", why, str(layout.root), suggestion=again)
    raise InputError([problem])


def _read_index(layout: Layout) -> Index:
    if not layout.index.exists():
        raise InputError([no_index(layout)])
    try:
        return Index.model_validate(json.loads(layout.index.read_text(encoding="utf-8")))
    except ValidationError as error:
        problem = unread_index(layout, in_short(error))
    except (OSError, ValueError) as error:
        problem = unread_index(layout, str(error))
    raise InputError([problem])


def no_index(layout: Layout) -> Problem:
    """Return that a folder holds no library."""
    return Problem(
        "library.index.missing",
        "there is no library in this folder",
        file=str(layout.root),
        suggestion=f"name a folder that publish has made: it holds {layout.index.name}",
    )


def unread_index(layout: Layout, why: str) -> Problem:
    """Return that the index of a library cannot be used, and why."""
    return Problem(
        "library.index.unread",
        f"the library's index cannot be used: {why}",
        file=str(layout.index),
        suggestion="publish the library again",
    )


def in_short(error: ValidationError) -> str:
    """Return in one clause what is wrong first with data that do not have their model's form."""
    first = error.errors(include_url=False)[0]
    where = ".".join(str(step) for step in first["loc"])
    return f"{where}: {first['msg']}" if where else str(first["msg"])


def read_current(layout: Layout) -> tuple[Manifest | None, str]:
    """Return the manifest of the generation that is published, and why there is none.

    The reason is empty where nothing was ever published.
    """
    if not layout.index.exists():
        return None, ""
    try:
        return read_published(layout), ""
    except InputError as error:
        return None, error.problems[0].message


def read_manifests(layout: Layout, current: Manifest) -> dict[str, Manifest | None]:
    """Return the manifests of all generations that lie in a library, by name.

    ``None`` for one that cannot be read; the ``current`` one is not read again.
    """
    found: dict[str, Manifest | None] = {current.generation: current}
    folder = layout.root / GENERATIONS
    for entry in sorted(folder.iterdir()) if folder.is_dir() else ():
        if entry.name in found:
            continue
        data = read_json(entry / MANIFEST_NAME)
        try:
            found[entry.name] = None if data is None else Manifest.model_validate(data)
        except ValidationError:
            found[entry.name] = None
    return found
