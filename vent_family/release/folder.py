"""Publish a part's folder in one step; recover what an interrupted run left behind."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

STAGING_PREFIX: Final = ".staging-"
_OLD_PREFIX: Final = ".previous-"


@contextmanager
def staged_folder(target: Path) -> Iterator[Path]:
    """Yield an empty folder beside ``target`` that takes its place if the block succeeds.

    On any exception the folder is removed and ``target`` stays as it was. Raises ``OSError`` if
    the disk refuses.
    """
    staging = target.with_name(f"{STAGING_PREFIX}{target.name}")
    shutil.rmtree(staging, ignore_errors=True)
    staging.mkdir(parents=True)
    try:
        yield staging
        _swap(staging, target)
    except BaseException:
        shutil.rmtree(staging, ignore_errors=True)
        raise


def _swap(staging: Path, target: Path) -> None:
    previous = target.with_name(f"{_OLD_PREFIX}{target.name}")
    shutil.rmtree(previous, ignore_errors=True)
    if target.exists():
        os.replace(target, previous)
    try:
        os.replace(staging, target)
    except OSError:
        if previous.exists():
            os.replace(previous, target)
        raise
    shutil.rmtree(previous, ignore_errors=True)


def recover(folder: Path) -> None:
    """Undo what a killed run left in an export folder: staging goes, previous versions return."""
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
