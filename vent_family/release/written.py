"""Files as they lie on the disk: names, sizes, hashes, and what they come to as one."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

CONTENT_DIGITS: Final = 12
"""Hexadecimal digits of the content's hash in the name of a folder."""


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """One file: its path within its folder, with /, size in bytes and SHA-256."""

    name: str
    size_bytes: int
    sha256: str

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for manifests and answers."""
        return {"name": self.name, "size_bytes": self.size_bytes, "sha256": self.sha256}


def hashed(path: Path, name: str) -> WrittenFile:
    """Return a file with its size and hash.

    Raises
    ------
    OSError
        if it cannot be read
    """
    with open(path, "rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
        return WrittenFile(name, file.tell(), digest)


def written_files(folder: Path) -> tuple[WrittenFile, ...]:
    """Return all files below a folder, by name.

    Raises
    ------
    OSError
        if one cannot be read
    """
    found = {p.relative_to(folder).as_posix(): p for p in folder.rglob("*") if p.is_file()}
    return tuple(hashed(path, name) for name, path in sorted(found.items()))


def content_hash(files: Iterable[WrittenFile]) -> str:
    """Return the SHA-256 of names and hashes of files, whatever their order.

    Examples
    --------
    >>> a, b = WrittenFile("a", 1, "00"), WrittenFile("b", 1, "11")
    >>> content_hash([a, b]) == content_hash([b, a]), content_hash([a]) == content_hash([b])
    (True, False)
    """
    lines = sorted(f"{f.sha256} {f.name}\n" for f in files)
    return hashlib.sha256("".join(lines).encode("utf-8")).hexdigest()
