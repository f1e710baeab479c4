"""The ledger: every folder that was put in place in a library, with its files.

Written before a folder gets its name, so that whatever of ours lies in the library stands in it.
Nothing that does not is ever removed.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from vent_family.base.atomic import add_line, renamed_to, write_bytes
from vent_family.release.publish.layout import Layout, is_ours
from vent_family.release.written import WrittenFile, written_files


def placed(layout: Layout, staged: Path, relative: str, files: Sequence[WrittenFile]) -> None:
    """Put a staged folder, which holds ``files``, in place under its path in the library.

    A folder that is there already under a name made of its content is kept if it is whole, and
    replaced if not.

    Raises
    ------
    OSError
        if the disk refuses
    """
    hashes = {f.name: f.sha256 for f in files}
    add_line(layout.ledger, _line(relative, hashes))
    target = layout.at(relative)
    target.parent.mkdir(parents=True, exist_ok=True)
    if target.is_dir():
        if {f.name: f.sha256 for f in written_files(target)} == hashes:
            return
        _aside(layout, target)
    renamed_to(staged, target)


def _aside(layout: Layout, damaged: Path) -> None:
    """Move a damaged folder out of the way; the next run removes it with what else was staged."""
    aside = layout.staging / f"damaged-{damaged.parent.name}-{damaged.name}"
    with suppress(FileNotFoundError):
        renamed_to(damaged, aside)


def entries(layout: Layout) -> dict[str, Mapping[str, str]]:
    """Return what the ledger lists: hashes of files by name, by folder; damaged lines, and any
    that lead elsewhere, are left out.

    Raises
    ------
    OSError
        if it cannot be read
    """
    found: dict[str, Mapping[str, str]] = {}
    try:
        text = layout.ledger.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return found
    for line in text.splitlines():
        try:
            entry = json.loads(line)
            if is_ours(entry["folder"]):
                found[entry["folder"]] = {str(k): str(v) for k, v in entry["files"].items()}
        except (ValueError, KeyError, TypeError, AttributeError):
            continue  # cut short by a kill: what it announced was never put in place
    return found


def remove(layout: Layout, relative: str, files: Mapping[str, str]) -> list[str]:
    """Remove the files that the ledger lists for a folder, and the folder if nothing is left.

    Returns the paths of what stays because somebody else put it there or changed it.

    Raises
    ------
    OSError
        if the disk refuses
    """
    folder = layout.at(relative)
    if not folder.is_dir() or folder.is_symlink():
        return []
    kept = []
    for file in written_files(folder):
        if files.get(file.name) == file.sha256:
            (folder / file.name).unlink()
        else:
            kept.append(f"{relative}/{file.name}")
    for inner in sorted(folder.rglob("*"), key=lambda p: len(p.parts), reverse=True):
        if inner.is_dir():
            _remove_empty(inner)
    _remove_empty(folder)
    _remove_empty(folder.parent)
    return kept


def _remove_empty(folder: Path) -> None:
    with suppress(OSError):
        folder.rmdir()


def without(layout: Layout, gone: Sequence[str]) -> None:
    """Take folders that are gone out of the ledger.

    Raises
    ------
    OSError
        if the disk refuses
    """
    left = {f: files for f, files in entries(layout).items() if f not in set(gone)}
    lines = [_line(folder, files) + "\n" for folder, files in left.items()]
    write_bytes(layout.ledger, "".join(lines).encode("utf-8"))


def _line(folder: str, files: Mapping[str, str]) -> str:
    return json.dumps({"folder": folder, "files": dict(files)}, ensure_ascii=False)
