"""Parts as a library or a catalogue holds them, so that two of either can be compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.hashing import Cells, recorded_cells, told_cells
from vent_family.geometry.fingerprint import from_text
from vent_family.release.entry import ReleaseEntry, entry_of
from vent_family.release.figures import Figures, figures
from vent_family.release.library import LibraryPart, read_library
from vent_family.spec.fit import Sizes
from vent_family.spec.resolved import ResolvedRows


@dataclass(frozen=True, slots=True)
class PublishedState:
    """A part of a library, by its record."""

    entry: ReleaseEntry
    record: Mapping[str, Any]

    @property
    def cells(self) -> Cells:
        """The cells of its row that were filled in."""
        return recorded_cells(self.record)

    @property
    def label(self) -> str:
        """Revision and issue, as A.1."""
        return f"{self.entry.revision}.{self.entry.issue}"

    def figures(self) -> Figures:
        """Return what its record says."""
        # Imported here: the record's types load the kernel, which only changed figures need.
        from vent_family.release.record import record_type

        return figures(self.record, record_type())


@dataclass(frozen=True, slots=True)
class RowState:
    """A released row of a catalogue, not built."""

    entry: ReleaseEntry
    cells: Cells

    @property
    def label(self) -> str:
        """The revision."""
        return self.entry.revision

    def figures(self) -> None:
        """Return nothing: a row alone has no figures."""


def library_states(folder: Path) -> dict[str, PublishedState]:
    """Return the parts of a library.

    Raises
    ------
    InputError
        if the index or a record cannot be used
    """
    return {number: _published(part) for number, part in read_library(folder).items()}


def _published(part: LibraryPart) -> PublishedState:
    return published_state(part.record(), part.record_path, part.folder.name)


def published_state(record: Mapping[str, Any], path: Path, content: str) -> PublishedState:
    """Return a release by its record, which stands in ``path``.

    ``content`` tells its files from those of others.

    Raises
    ------
    InputError
        if the record is none of a release
    """
    try:
        return PublishedState(_entry_of_record(record, content), record)
    except (ValueError, KeyError, TypeError) as error:
        problem = Problem(
            "library.record.unread",
            f"the record is none of a release: {type(error).__name__} {error}",
            file=str(path),
            part_number=path.stem,
            suggestion="publish the library again",
        )
        raise InputError([problem]) from None


def _entry_of_record(record: Mapping[str, Any], content: str) -> ReleaseEntry:
    identity, release = record["identity"], record["release"]
    return ReleaseEntry(
        part_number=identity["part_number"],
        revision=identity["revision"],
        issue=int(identity["issue"]),
        released="",
        change=release["change"],
        material=record["material"]["name"],
        fit=Sizes.from_text(release["fit"]),
        design=Sizes.from_text(release["design"]),
        designed_volume_mm3=float(release["designed_volume_mm3"]),
        row=identity["row_hash"],
        geometry=tuple((body, from_text(text)) for body, text in release["geometry"].items()),
        evidence=release["evidence"],
        water=record["water"]["outcome"],
        content=content,
    )


def catalogue_states(rows: ResolvedRows) -> dict[str, RowState]:
    """Return the released rows of a catalogue; those that break a rule are left out."""
    found = {}
    for source in rows.file.rows:
        if source.row.status == "released":
            try:
                spec = rows.spec(source)
            except InputError:
                continue
            # Without its volume, which sizes and lines of the section stand for here.
            entry = entry_of(spec, source.row_hash, "", volume=False)
            found[source.row.part_number] = RowState(entry, told_cells(source.row, source.attached))
    return found
