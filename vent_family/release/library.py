"""Read a published library: its index, and the records of its parts."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from vent_family.base.problems import InputError, Problem
from vent_family.release.publish.layout import Layout
from vent_family.release.publish.manifest import no_index, unread_index

_AGAIN: Final = "publish the library again"


@dataclass(frozen=True, slots=True)
class LibraryPart:
    """One part of a library: its release, and the folder that holds its files.

    ``facts`` is its whole entry in the index.
    """

    part_number: str
    revision: str
    issue: int
    folder: Path
    files: tuple[str, ...]
    facts: Mapping[str, Any]

    @property
    def record_path(self) -> Path:
        """Where the part's record stands."""
        return self.folder / f"{self.part_number}.json"

    def record(self) -> dict[str, Any]:
        """Return the part's record.

        Raises
        ------
        InputError
            if it cannot be read, or is of another part
        """
        try:
            found = json.loads(self.record_path.read_text(encoding="utf-8"))
            if found["identity"]["part_number"] != self.part_number:
                raise ValueError("it is the record of another part")
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise InputError(
                [
                    Problem(
                        "library.record.unread",
                        f"the part's record cannot be read: {_why(error)}",
                        file=str(self.record_path),
                        part_number=self.part_number,
                        suggestion=_AGAIN,
                    )
                ]
            ) from None
        return dict(found)


def read_library(folder: Path) -> dict[str, LibraryPart]:
    """Return the parts of a library by their numbers, in the order of its index.

    Raises
    ------
    InputError
        if the folder holds no index, or one that cannot be used
    """
    layout = Layout(folder)
    path = layout.index
    try:
        index = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputError([no_index(layout)]) from None
    except (OSError, ValueError) as error:
        raise InputError([unread_index(layout, _why(error))]) from None
    try:
        parts = [_part(layout, entry) for entry in index["parts"]]
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError([unread_index(layout, _why(error))]) from None
    return {part.part_number: part for part in parts}


def _part(layout: Layout, entry: Mapping[str, Any]) -> LibraryPart:
    """Return a part of the index; its folder lies inside the library."""
    return LibraryPart(
        part_number=str(entry["part_number"]),
        revision=str(entry["revision"]),
        issue=int(entry["issue"]),
        folder=layout.at(str(entry["folder"])),
        files=tuple(str(name) for name in entry["files"]),
        facts=dict(entry),
    )


def _why(error: Exception) -> str:
    """Return what is wrong in a few words."""
    if isinstance(error, OSError):
        return error.strerror or str(error)
    if isinstance(error, KeyError):
        return f"{error} is missing"
    if isinstance(error, json.JSONDecodeError):
        return f"it is no JSON: {error}"
    return str(error)
