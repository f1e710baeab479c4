"""The one place that writes to the disk: files and folders appear whole or not at all.

Everything the package writes goes through here. Bytes made in memory go through
:func:`write_bytes`, what is written piece by piece through :func:`atomic_file`, what a library
insists on writing to a path itself through :func:`atomic_path`; a folder whose files belong
together goes through :func:`staged_folder`; a log that only grows through :func:`add_line`;
what was made aside gets its name by :func:`renamed_to`.
"""

from __future__ import annotations

import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, Final

STAGING_PREFIX: Final = ".staging-"
_OLD_PREFIX: Final = ".previous-"


@contextmanager
def atomic_path(path: Path) -> Iterator[Path]:
    """Yield the path of a file that becomes ``path`` when the block ends without an exception.

    For libraries that write to a path. It is a hidden neighbour of ``path``, since a rename is
    atomic only inside one file system, and has the same ending, by which many a library chooses
    the format. On any exception, an interrupt from the keyboard included, it is removed and
    whatever stood at ``path`` before stays as it was.

    Raises
    ------
    FileNotFoundError
        if the block has written nothing, or the folder of ``path`` does not exist; it is not
        created here
    OSError
        if the disk is full, the folder is read-only, or ``path`` is a folder
    """
    path = Path(path)
    aside = path.with_name(f".{path.stem}.{secrets.token_hex(6)}{path.suffix}")
    try:
        yield aside
        with open(aside, "rb+") as file:
            # Without this a power cut after the rename can leave an empty file under the name.
            os.fsync(file.fileno())
        os.replace(aside, path)
    except BaseException:
        with suppress(FileNotFoundError):
            aside.unlink()
        raise


@contextmanager
def atomic_file(path: Path) -> Iterator[BinaryIO]:
    """Yield a binary file that becomes ``path`` when the block ends without an exception.

    As :func:`atomic_path`, for writers that take an open file.

    Raises
    ------
    FileNotFoundError
        if the folder of ``path`` does not exist
    OSError
        if the disk is full, the folder is read-only, or ``path`` is a folder
    """
    # Mode "x" and a plain open, not the tempfile module, whose files only the owner can read.
    with atomic_path(path) as aside, open(aside, "xb") as file:
        yield file


def write_bytes(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` whole or not at all.

    Raises
    ------
    FileNotFoundError
        if the folder of ``path`` does not exist
    OSError
        if the disk is full, the folder is read-only, or ``path`` is a folder
    """
    with atomic_file(path) as file:
        file.write(data)


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Yield an empty folder among the system's temporary ones that is gone after the block.

    Raises
    ------
    OSError
        if the disk refuses
    """
    with tempfile.TemporaryDirectory(prefix="vent-family-") as place:
        yield Path(place)


def renamed_to(source: Path, target: Path) -> None:
    """Give a file or folder, made aside in the same file system, its name at once.

    Raises
    ------
    OSError
        if the disk refuses, or a folder that is not empty stands under the name
    """
    os.replace(source, target)


def add_line(path: Path, line: str) -> None:
    """Add a line to a text file, and have it on the disk before this returns.

    A line that a kill cuts short stays the last one; the next begins on a line of its own.

    Raises
    ------
    OSError
        if the disk is full or the folder cannot be written
    """
    with open(path, "ab+") as file:
        end = file.seek(0, os.SEEK_END)
        if end:
            file.seek(end - 1)
        begin = b"\n" if end and file.read(1) != b"\n" else b""
        file.write(begin + line.encode("utf-8") + b"\n")
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def staged_folder(target: Path) -> Iterator[Path]:
    """Yield an empty folder beside ``target`` that takes its place if the block succeeds.

    On any exception the folder is removed and ``target`` stays as it was.

    Raises
    ------
    OSError
        if the disk refuses
    """
    staging = target.with_name(f"{STAGING_PREFIX}{target.name}")
    _remove(staging)
    staging.mkdir(parents=True)
    try:
        yield staging
        _swap(staging, target)
    except BaseException:
        shutil.rmtree(staging, ignore_errors=True)
        raise


def _swap(staging: Path, target: Path) -> None:
    previous = target.with_name(f"{_OLD_PREFIX}{target.name}")
    _remove(previous)
    if target.exists():
        os.replace(target, previous)
    try:
        os.replace(staging, target)
    except OSError:
        if previous.exists():
            os.replace(previous, target)
        raise
    _remove(previous)


def _remove(path: Path) -> None:
    """Remove a folder, or whatever else stands under its name, as far as the disk lets."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def recover(folder: Path) -> None:
    """Undo what a killed run left in ``folder``: staging goes, previous versions return.

    Raises
    ------
    OSError
        if a previous version cannot be moved back
    """
    if not folder.is_dir():
        return
    for entry in folder.iterdir():
        if entry.name.startswith(STAGING_PREFIX):
            shutil.rmtree(entry, ignore_errors=True)
        elif entry.name.startswith(_OLD_PREFIX):
            target = entry.with_name(entry.name.removeprefix(_OLD_PREFIX))
            if target.exists():
                shutil.rmtree(entry, ignore_errors=True)
            else:
                os.replace(entry, target)
