"""Where everything lies in a published library, and which of it is ours.

Folders of parts are named by what is in them and never change once they are in place, so that who
reads an old index still finds its files. A generation is a manifest with its pages. The index,
``library.json``, names one generation and every part's folder; renaming it into place is the
publication, everything before adds files that no index names yet.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Final

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import PART_NUMBER
from vent_family.release.written import CONTENT_DIGITS

INDEX_NAME: Final = "library.json"
ENTRY_NAME: Final = "index.html"
PARTS: Final = "parts"
GENERATIONS: Final = "generations"
MANIFEST_NAME: Final = "manifest.json"
SITE: Final = "site"
SCHEMA_NAME: Final = "part.schema.json"
OWN: Final = ".vent-family"
MARKER_NAME: Final = "marker.json"
LOCK_NAME: Final = "lock"
STAGING: Final = "staging"
LEDGER_NAME: Final = "ledger.jsonl"
ALLOWED_BESIDE: Final = frozenset({"README.md", ".gitignore", ".gitkeep"})
"""What may lie in a folder that becomes a library: it stays."""
_MARKER: Final = "a library published by vent-family; the ledger lists what it wrote"
FOLDER: Final = (
    rf"^{PARTS}/{PART_NUMBER}/"
    rf"[A-Z][A-Z0-9]{{0,3}}\.[0-9]+-[0-9a-f]{{{CONTENT_DIGITS}}}$"
)
"""The path of a release's folder, as an expression."""
_GENERATION: Final = re.compile(rf"^{GENERATIONS}/[0-9]{{8}}T[0-9]{{6}}Z-[0-9a-f]{{8}}$")


@dataclass(frozen=True, slots=True)
class Layout:
    """Paths within a library's folder ``root``."""

    root: Path

    @property
    def index(self) -> Path:
        """The index: what it names is published."""
        return self.root / INDEX_NAME

    @property
    def entry(self) -> Path:
        """The page that sends a browser on to the current generation."""
        return self.root / ENTRY_NAME

    @property
    def own(self) -> Path:
        """The folder with marker, lock, ledger and staging."""
        return self.root / OWN

    @property
    def lock(self) -> Path:
        """The publishers' lock."""
        return self.own / LOCK_NAME

    @property
    def staging(self) -> Path:
        """Where runs write before anything is put in place."""
        return self.own / STAGING

    @property
    def ledger(self) -> Path:
        """What was ever put in place, a line of JSON each."""
        return self.own / LEDGER_NAME

    def generation(self, name: str) -> Path:
        """Return the folder of a generation."""
        return self.root / GENERATIONS / name

    def manifest(self, name: str) -> Path:
        """Return the manifest of a generation."""
        return self.generation(name) / MANIFEST_NAME

    def at(self, relative: str) -> Path:
        """Return what lies under a path with / that an index or ledger states.

        Raises
        ------
        ValueError
            if the path leads out of the library
        """
        path = PurePosixPath(relative)
        if path.is_absolute() or ".." in path.parts or "\\" in relative or ":" in relative:
            raise ValueError(f"{relative!r} leads out of the library")
        return self.root / path


def part_folder(part_number: str, revision: str, issue: int, content: str) -> str:
    """Return the path of a release's folder within the library.

    Examples
    --------
    >>> part_folder("HV-R080", "A", 1, "0123456789abcdef")
    'parts/HV-R080/A.1-0123456789ab'
    """
    return f"{PARTS}/{part_number}/{revision}.{issue}-{content[:CONTENT_DIGITS]}"


def is_ours(relative: str) -> bool:
    """Tell whether a path is that of a release's folder or of a generation, by its form.

    Examples
    --------
    >>> is_ours("parts/HV-R080/A.1-0123456789ab"), is_ours("parts/HV-R080/mine"), is_ours("../x")
    (True, False, False)
    """
    return bool(re.match(FOLDER, relative) or _GENERATION.match(relative))


def prepared(root: Path) -> Layout:
    """Return the layout of a folder that is a library or may become one; its own folders exist.

    Raises
    ------
    InputError
        if the folder holds something else
    OSError
        if it cannot be made or written
    """
    layout = Layout(root)
    root.mkdir(parents=True, exist_ok=True)
    marker = layout.own / MARKER_NAME
    if not marker.is_file():
        foreign = sorted(
            e.name for e in root.iterdir() if e.name not in ALLOWED_BESIDE and e.name != OWN
        )
        if foreign:
            shown = ", ".join(foreign[:4]) + (" and more" if len(foreign) > 4 else "")
            raise InputError(
                [
                    Problem(
                        "library.folder.foreign",
                        "the folder is no library that was published here, and it is not empty:"
                        f" {shown}",
                        file=str(root),
                        suggestion="choose an empty folder with --out, or move these files away",
                    )
                ]
            )
    layout.own.mkdir(exist_ok=True)
    if not marker.is_file():
        write_bytes(marker, (json.dumps({"what": _MARKER}) + "\n").encode("ascii"))
    layout.staging.mkdir(exist_ok=True)
    return layout


def read_json(path: Path) -> dict[str, Any] | None:
    """Return the object in a JSON file; ``None`` where there is none or it cannot be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None
