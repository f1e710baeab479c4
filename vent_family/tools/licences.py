"""The licences of what the package needs and ships, from the metadata of what is installed.

``python -m vent_family.tools.licences > THIRD-PARTY-LICENCES.md`` writes the list that goes with
the wheel and the documentation; run it where all extras but the tests' are installed.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from email.message import Message
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from packaging.requirements import Requirement

ROOT: Final = Path(__file__).parents[2]
LIST: Final = ROOT / "THIRD-PARTY-LICENCES.md"
EXTRAS: Final = ("dask", "docs", "sign", "view")
"""Extras that people install to use the package; the tests' stay with whoever runs them."""
_SHORT: Final = 50
"""A licence field that is longer is the text of a licence, not its name."""


@dataclass(frozen=True, slots=True)
class Licensed:
    """One distribution: name, version, the name of its licence, whether the project names it."""

    name: str
    version: str
    licence: str
    declared: bool


def declared(extra: str = "") -> list[str]:
    """Return what the project declares to need, always or with an extra, as written."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        project: dict[str, Any] = tomllib.load(file)["project"]
    found = project["optional-dependencies"][extra] if extra else project["dependencies"]
    return list(found)


def plain_name(name: str) -> str:
    """Return a distribution's name as all spellings of it are compared.

    Examples
    --------
    >>> plain_name("typing_extensions"), plain_name("ruamel.YAML")
    ('typing-extensions', 'ruamel-yaml')
    """
    return re.sub(r"[-_.]+", "-", name).lower()


def licence_name(told: Message) -> str:
    """Return the name of a licence from a distribution's metadata; empty if it states none.

    An SPDX expression counts first, then a short field, then the classifiers; a whole text is known
    by its words.

    Examples
    --------
    >>> told = Message()
    >>> told["License"] = "Copyright 2022, a text of many lines and no name" * 9
    >>> told["Classifier"] = "License :: OSI Approved :: MIT License"
    >>> licence_name(told)
    'MIT License'
    """
    field = " ".join(str(told.get("License", "")).split())
    classed = [
        c.rpartition(" :: ")[2] for c in told.get_all("Classifier", []) if c.startswith("License")
    ]
    classed = [name for name in classed if name != "OSI Approved"]
    short = field if len(field) <= _SHORT and "===" not in field else ""
    named = str(told.get("License-Expression", "")) or short or ", ".join(classed)
    return named or next((name for words, name in _TEXTS if words in field), field)


_TEXTS: Final = (
    ("Permission is hereby granted, free of charge, to any person obtaining a copy", "MIT"),
)
"""Licences by the words that only their texts hold."""


def needed(names: Iterable[str]) -> list[Licensed]:
    """Return all that the named requirements bring, themselves included, by name.

    Environment markers are those of the Python that runs.

    Raises
    ------
    LookupError
        if one of them is not installed, or states no licence
    """
    own = {plain_name(Requirement(name).name) for name in names}
    found: dict[str, Licensed] = {}
    waiting = [(Requirement(name), frozenset[str]()) for name in names]
    seen: set[tuple[str, frozenset[str]]] = set()
    while waiting:
        wanted, asked = waiting.pop()
        if wanted.marker is not None and not any(
            wanted.marker.evaluate({"extra": extra}) for extra in asked or {""}
        ):
            continue
        name, extras = plain_name(wanted.name), frozenset(wanted.extras)
        if (name, extras) in seen:
            continue
        seen.add((name, extras))
        there = _installed(name)
        licence = licence_name(there.metadata)  # type: ignore[arg-type]
        if not licence:
            raise LookupError(f"{name} states no licence")
        found[name] = Licensed(there.metadata["Name"], there.version, licence, name in own)
        waiting += [(Requirement(line), extras) for line in there.requires or []]
    return [found[name] for name in sorted(found)]


def _installed(name: str) -> metadata.Distribution:
    try:
        return metadata.distribution(name)
    except metadata.PackageNotFoundError:
        told = ",".join(EXTRAS)
        raise LookupError(f"{name} is not installed: pip install '.[{told}]' first") from None


def licence_list() -> str:
    """Return the list as Markdown: what is always needed, what each extra adds, what is shipped.

    Raises
    ------
    LookupError
        if something declared is not installed, or states no licence
    """
    always = needed(declared())
    return "\n".join(_lines(always, {plain_name(one.name) for one in always})) + "\n"


def _lines(always: list[Licensed], before: set[str]) -> Iterator[str]:
    yield "# Licences of others"
    yield ""
    yield (
        "What the package needs, by the metadata of the versions named, with which the list was"
        " made on Linux;\nanother system or Python may need a few more. Nothing of it is in the"
        " wheel except what is named as shipped.\nThe project itself: all rights reserved."
    )
    yield ""
    yield "## Always needed"
    yield ""
    yield from _table(always)
    for extra in EXTRAS:
        yield ""
        yield f"## With the extra `{extra}`"
        yield ""
        more = needed(declared(extra))
        yield from _table([x for x in more if x.declared or plain_name(x.name) not in before])
    yield ""
    yield "## Shipped"
    yield ""
    yield "| what | where | licence |"
    yield "| --- | --- | --- |"
    for what, where, licence in SHIPPED:
        yield f"| {what} | {where} | {licence} |"
    yield ""
    yield (
        "Distributions may hold more than their own code: cadquery-ocp the geometry kernel Open"
        " CASCADE (LGPL-2.1\nwith an exception, from memory), numpy and scipy their numerical"
        " libraries. Their folders hold those licences."
    )


SHIPPED: Final = (
    (
        "three.js 0.187.0",
        "`release/site/static/viewer.js`, in the wheel and in every library's pages; its text"
        " beside it, `viewer-licence.txt`",
        "MIT",
    ),
    ("Furo, Gumshoe", "`_static/` of the built documentation", "MIT"),
    ("Sphinx, sphinx-basic-ng, Pygments", "`_static/` of the built documentation", "BSD, MIT"),
)
"""What of others lies in the wheel, in a library's pages or in the built documentation."""


def _table(rows: Iterable[Licensed]) -> Iterator[str]:
    yield "| distribution | version | licence | named by the project |"
    yield "| --- | --- | --- | --- |"
    for row in rows:
        named = "yes" if row.declared else ""
        yield f"| {row.name} | {row.version} | {row.licence} | {named} |"


def main() -> None:
    """Print the list, or say what is missing."""
    try:
        print(licence_list(), end="")
    except LookupError as error:
        sys.exit(str(error.args[0]))


if __name__ == "__main__":
    main()
