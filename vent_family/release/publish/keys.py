"""What a part is made from, as hashes: what has not changed need not be made again.

A part follows from its row with what the row names outside itself, the code that makes it, the
shop's table, the bar it must clear, and the versions of kernel and libraries. When it was made is
no part of it.
"""

from __future__ import annotations

import hashlib
import json
import platform
import sys
from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

from vent_family.release.registered import Registered

Key = Mapping[str, str]
"""Hashes, or versions, of what a part is made from, by name."""

ROW: Final = "row"
SHOP: Final = "shop"
BAR: Final = "bar"
CODE: Final = "code "
VERSION: Final = "version of "
LIBRARIES: Final = (
    "cadquery", "cadquery-ocp", "ezdxf", "fluids", "lib3mf", "matplotlib", "numba", "numpy",
    "pillow", "reportlab", "scipy", "shapely", "vtk",
)  # fmt: skip
"""Distributions whose version may change what is written of a part."""
_DIGITS: Final = 16
_NOT_OF_PARTS: Final = ("front", "tools", "release/publish", "release/site", "release/reports")
"""Code that no file of a part depends on."""
_NESTED: Final = ("evidence", "release")
"""Layers told apart by their packages, so that a reason says which evidence changed."""


def key(row_hash: str, common: Key, bar: str) -> dict[str, str]:
    """Return what a row's part is made from; ``common`` is what all rows of a run share."""
    return {ROW: row_hash, BAR: bar, **common}


def digest(made_from: Key) -> str:
    """Return 16 hexadecimal digits that stand for all of a key.

    Examples
    --------
    >>> digest({"row": "1", "bar": "any"}) == digest({"bar": "any", "row": "1"})
    True
    """
    text = json.dumps(dict(made_from), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:_DIGITS]


def common_key(shop_fingerprint: str, registered: Registered) -> dict[str, str]:
    """Return what all parts of a run are made from.

    Parameters
    ----------
    shop_fingerprint
        hash of the shop's table
    registered
        forms, families and kinds of evidence that are not the package's
    """
    return {SHOP: shop_fingerprint, **code(), **_added(registered), **versions()}


@lru_cache(maxsize=1)
def code() -> dict[str, str]:
    """Return a hash of each part of the package that the files of a part follow from."""
    hashes: dict[str, hashlib._Hash] = {}
    for place, name, data in _sources():
        if any(place == p or place.startswith(f"{p}/") for p in _NOT_OF_PARTS):
            continue
        parts = place.split("/") if place else []
        package = "/".join(parts[:2] if parts and parts[0] in _NESTED else parts[:1])
        _add(hashes.setdefault(f"{CODE}{package}".strip(), hashlib.sha256()), name, data)
    return {name: found.hexdigest()[:_DIGITS] for name, found in hashes.items()}


def hash_of_code(packages: Iterable[str]) -> str:
    """Return 16 hexadecimal digits that stand for all files of some packages, as release/site."""
    found = hashlib.sha256()
    wanted = tuple(packages)
    for place, name, data in _sources():
        if any(place == p or place.startswith(f"{p}/") for p in wanted):
            _add(found, name, data)
    return found.hexdigest()[:_DIGITS]


def _add(found: hashlib._Hash, name: str, data: bytes) -> None:
    found.update(name.encode("utf-8") + b"\0" + hashlib.sha256(data).digest())


@lru_cache(maxsize=1)
def _sources() -> tuple[tuple[str, str, bytes], ...]:
    """Return folder, path and bytes of every file of the package but compiled ones."""
    root = Path(__file__).parents[2]
    found = []
    for path in sorted(root.rglob("*")):
        relative = path.relative_to(root)
        if "__pycache__" in relative.parts or not path.is_file():
            continue
        place = relative.parent.as_posix()
        found.append(("" if place == "." else place, relative.as_posix(), path.read_bytes()))
    return tuple(found)


def versions() -> dict[str, str]:
    """Return the versions of interpreter and libraries."""
    found = {f"{VERSION}python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[f"{VERSION}{name}"] = version(name)
        except PackageNotFoundError:
            found[f"{VERSION}{name}"] = "not installed"
    return found


def _added(registered: Registered) -> dict[str, str]:
    """Return a hash of each module that added a form, a family or a kind of evidence."""
    added: Iterable[object] = (
        *registered.forms,
        *(thing for pair in registered.families for thing in pair),
        *registered.kinds,
    )
    found = {}
    for thing in added:
        module = type(thing).__module__
        file = getattr(sys.modules.get(module), "__file__", None)
        data = Path(file).read_bytes() if file else b""
        found[f"{CODE}{module}"] = hashlib.sha256(data).hexdigest()[:_DIGITS]
    return found


def reasons(before: Key | None, now: Key, cells: Iterable[str] = ()) -> list[str]:
    """Return in words why a part is made (again); nothing where nothing changed.

    Parameters
    ----------
    before
        what the published part was made from; ``None`` where there is none
    now
        what it would be made from
    cells
        what changed in the row, in words

    Examples
    --------
    >>> reasons({"row": "1", "shop": "a"}, {"row": "1", "shop": "b"})
    ['the table of the shop changed']
    >>> reasons({"row": "1"}, {"row": "2"}, ["pitch_mm 7 -> 7.5"])
    ['the row changed: pitch_mm 7 -> 7.5']
    """
    if before is None:
        return ["not in the library"]
    told = []
    changed = [name for name in {**before, **now} if before.get(name) != now.get(name)]
    if ROW in changed:
        named = list(cells)
        told.append(f"the row changed: {', '.join(named)}" if named else "the row changed")
    if SHOP in changed:
        told.append("the table of the shop changed")
    if BAR in changed:
        told.append(f"the bar changed: publish if {before.get(BAR)} -> {now.get(BAR)}")
    packages = sorted(n.removeprefix(CODE) for n in changed if n.startswith(CODE.strip()))
    if packages:
        told.append(f"the code changed: {', '.join(packages)}")
    for name in sorted(n for n in changed if n.startswith(VERSION)):
        was, becomes = before.get(name, "none"), now.get(name, "none")
        told.append(f"the {name} changed: {was} -> {becomes}")
    return told
