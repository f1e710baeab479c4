"""Removing what no index has named for a while: old generations and folders of old issues.

Only what the ledger lists is removed, file by file, and only where it has the hash it was written
with; archived releases stay for good.
"""

from __future__ import annotations

import shutil
from collections.abc import Collection, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Final

from vent_family.release.publish.layout import GENERATIONS, Layout
from vent_family.release.publish.ledger import entries, remove, without
from vent_family.release.publish.manifest import Manifest, read_manifests

KEEP_DAYS: Final = 30.0
"""Generations stay reachable for so long after a later one was published, days."""


@dataclass(frozen=True, slots=True)
class Removed:
    """What was removed, and what stays though no index names it, because it is not ours."""

    removed: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()


def clear_staging(layout: Layout) -> None:
    """Remove what runs that were cut short have staged; nothing there was ever in place."""
    for entry in layout.staging.iterdir():
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry, ignore_errors=True)
        else:
            with suppress(OSError):
                entry.unlink()


def swept(
    layout: Layout,
    current: Manifest,
    now: datetime,
    keep_days: float,
    pinned: Collection[str] = (),
) -> Removed:
    """Remove generations that ended ``keep_days`` ago, and folders that none left names.

    Parameters
    ----------
    layout
        where the library lies
    current
        the manifest that the index names
    now
        the time, UTC
    keep_days
        how long a generation stays after the next one, days
    pinned
        folders of releases that stay whatever names them

    Raises
    ------
    OSError
        if the disk refuses
    """
    listed = entries(layout)
    manifests = read_manifests(layout, current)
    stays = _staying(layout, manifests, current, now, keep_days)
    named = {current.generation: current} | {n: m for n, m in manifests.items() if n in stays}
    needed = {f"{GENERATIONS}/{name}" for name in named} | set(pinned)
    for manifest in named.values():
        if manifest is None:
            continue
        needed |= {r.folder for r in manifest.parts}
        needed |= {a.release.folder for a in manifest.archive}
    removed, kept = [], []
    for folder, files in listed.items():
        if folder not in needed and _old(layout.at(folder), now, keep_days):
            left = remove(layout, folder, files)
            kept += left
            removed.append(folder)
    if removed:
        without(layout, removed)
    return Removed(tuple(removed), tuple(kept))


def _staying(
    layout: Layout,
    manifests: Mapping[str, Manifest | None],
    current: Manifest,
    now: datetime,
    keep_days: float,
) -> set[str]:
    """Return the generations that have not been replaced for long enough.

    A generation counts from the day its successor was published, which is when it ended.
    """
    made = {name: _written(layout.manifest(name)) for name in manifests}
    order = sorted(made, key=lambda name: (made[name], name))
    stays = {current.generation}
    for name, after in pairwise(order):
        if made[after] + timedelta(days=keep_days) > now:
            stays.add(name)
    stays.update(order[-1:])
    return stays


def _written(path: Path) -> datetime:
    """Return when a file was put on this disk: stamps inside may be set to any day."""
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except OSError:
        return datetime.fromtimestamp(0, UTC)


def _old(folder: Path, now: datetime, keep_days: float) -> bool:
    return _written(folder) + timedelta(days=keep_days) <= now
