"""Arrays kept in the user's cache folder from one run to the next, whole or not at all."""

from __future__ import annotations

import os
import zipfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from platformdirs import user_cache_path

from vent_family.base.atomic import atomic_path

CACHE_VARIABLE: Final = "VENT_FAMILY_CACHE"
"""Environment variable naming another cache folder."""


@dataclass(frozen=True, slots=True)
class ArrayCache:
    """Named arrays under keys, in a folder of their own inside the user's cache folder.

    It only saves time: what cannot be read is not there, and what cannot be written (no room, a
    read-only home) is not kept. ``name`` is the folder's name.
    """

    name: str

    @property
    def folder(self) -> Path:
        """The folder of the entries; read anew each time, so that the environment may change."""
        chosen = os.environ.get(CACHE_VARIABLE)
        return (Path(chosen) if chosen else user_cache_path("vent-family")) / self.name

    def read(self, key: str) -> dict[str, NDArray[Any]] | None:
        """Return the arrays kept under a key; ``None`` if there are none or they are damaged."""
        try:
            with np.load(self._path(key), allow_pickle=False) as kept:
                return {name: kept[name] for name in kept.files}
        except (OSError, ValueError, zipfile.BadZipFile, EOFError):
            return None

    def write(self, key: str, arrays: Mapping[str, NDArray[Any]]) -> None:
        """Keep arrays under a key if the disk lets them be kept."""
        path = self._path(key)
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            with atomic_path(path) as aside:
                np.savez_compressed(aside, **dict[str, Any](arrays))

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}.npz"
