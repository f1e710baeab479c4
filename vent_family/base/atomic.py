"""Write a file aside and move it into place, so that nobody ever sees half of one."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO


@contextmanager
def atomic_file(path: Path) -> Iterator[BinaryIO]:
    """Yield a binary file that becomes ``path`` when the block ends without an exception.

    The bytes go to a hidden neighbour of ``path`` first: a rename is atomic only inside one file
    system. On any exception, an interrupt from the keyboard included, the neighbour is removed and
    whatever stood at ``path`` before stays as it was.

    Raises:
        FileNotFoundError: the folder of ``path`` does not exist; it is not created here.
        OSError: the disk is full, the folder is read-only, or ``path`` is a folder.
    """
    path = Path(path)
    aside = path.with_name(f".{path.name}.{secrets.token_hex(6)}.part")
    try:
        # Mode "x" and a plain open, not the tempfile module, whose files only the owner can read.
        with open(aside, "xb") as file:
            yield file
            file.flush()
            # Without this a power cut after the rename can leave an empty file under the name.
            os.fsync(file.fileno())
        os.replace(aside, path)
    except BaseException:
        with suppress(FileNotFoundError):
            aside.unlink()
        raise


def write_bytes(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` whole or not at all; see :func:`atomic_file`."""
    with atomic_file(path) as file:
        file.write(data)
