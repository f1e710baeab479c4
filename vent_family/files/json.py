"""Write plain data as a JSON file whose bytes depend on nothing but the data."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np

from vent_family.base.atomic import write_bytes

FLOAT_DIGITS: Final = 12
"""Significant digits kept of a float.

Enough for any length, mass or flow here, and few enough that the last bits of a sum, which differ
between processors and library versions, do not show up as a changed file.
"""


def write_json(path: Path, data: Mapping[str, Any]) -> None:
    """Write ``data`` to ``path`` as UTF-8 JSON (RFC 8259), whole or not at all.

    Keys are sorted, the indent is two spaces, the file ends with a newline, text is not escaped
    beyond what JSON asks for, floats carry :data:`FLOAT_DIGITS` significant digits and no negative
    zero. Mappings with text keys, lists, tuples, text, numbers (numpy scalars and arrays too),
    booleans and None are accepted.

    Raises
    ------
    ValueError
        if there is NaN or an infinity, or text with an unpaired surrogate; the place is named
    TypeError
        if a value or a key is of another type; the place is named
    """
    text = json.dumps(_plain(data, "$"), sort_keys=True, indent=2, ensure_ascii=False)
    write_bytes(path, (text + "\n").encode("utf-8"))


def as_written(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return data as it is read from the file that :func:`write_json` makes of it.

    Raises
    ------
    ValueError, TypeError
        as :func:`write_json`

    Examples
    --------
    >>> as_written({"share": 0.1 + 0.2, "size_mm": (40, 60)})
    {'share': 0.3, 'size_mm': [40, 60]}
    """
    plain: dict[str, Any] = _plain(data, "$")
    return plain


def _plain(value: Any, place: str) -> Any:
    """Return ``value`` made of JSON's own types; ``place`` is its path from the root ``$``."""
    if isinstance(value, np.ndarray):
        value = value.tolist()
    elif isinstance(value, np.generic):
        value = value.item()
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"{place} is {value}: JSON has no such number")
        # Adding zero turns a negative zero into a plain one.
        return float(f"{value:.{FLOAT_DIGITS}g}") + 0.0
    if isinstance(value, str):
        _require_encodable(value, place)
        # Subclasses such as text enumerations would otherwise print in their own way.
        return str.__str__(value)
    if isinstance(value, Mapping):
        return {_key(key, place): _plain(item, f"{place}.{key}") for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item, f"{place}[{index}]") for index, item in enumerate(value)]
    raise TypeError(f"{place} is of type {type(value).__name__}, which JSON cannot carry")


def _key(key: Any, place: str) -> str:
    if not isinstance(key, str):
        raise TypeError(f"{place} has a key of type {type(key).__name__}; keys must be text")
    _require_encodable(key, place)
    return str.__str__(key)


def _require_encodable(text: str, place: str) -> None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise ValueError(f"{place} contains an unpaired surrogate: {text!r}") from error
