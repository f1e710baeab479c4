"""The list of others' licences names what the project needs, and what each really is under."""

from __future__ import annotations

import re
import tomllib
from email.message import Message
from importlib import metadata
from pathlib import Path

import pytest

from vent_family.tools import licences
from vent_family.tools.licences import EXTRAS, LIST, needed, plain_name

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TEXTS = {
    "MIT": "Permission is hereby granted, free of charge",
    "BSD": "Redistribution and use in source and binary forms",
    "Apache": "Apache License",
    "LGPL": "LESSER GENERAL PUBLIC LICENSE",
    "PSF": "LICENSE AGREEMENT is between",
}
"""How the texts of the licences begin or what they are known by, as published with each."""


def sections() -> dict[str, dict[str, list[str]]]:
    """Return the rows of the list by section and distribution: version, licence, named."""
    found: dict[str, dict[str, list[str]]] = {}
    for part in LIST.read_text(encoding="utf-8").split("\n## ")[1:]:
        rows = re.findall(r"^\| (?!distribution|what|---)(.*) \|$", part, re.MULTILINE)
        split = [row.split(" | ") for row in rows]
        found[part.splitlines()[0]] = {plain_name(cells[0]): cells[1:] for cells in split}
    return found


def named(requirements: list[str]) -> set[str]:
    return {plain_name(re.split(r"[<>=;\[ ]", line)[0]) for line in requirements}


def test_the_list_names_what_the_project_declares() -> None:
    found = sections()
    by_section = {"Always needed": PROJECT["dependencies"]} | {
        f"With the extra `{extra}`": PROJECT["optional-dependencies"][extra] for extra in EXTRAS
    }
    assert set(PROJECT["optional-dependencies"]) == {*EXTRAS, "test"}
    assert list(found) == [*by_section, "Shipped"]
    for section, requirements in by_section.items():
        marked = {name for name, cells in found[section].items() if cells[2].strip() == "yes"}
        assert marked == named(requirements), section
    for rows in found.values():
        assert all(cells[1].strip() for cells in rows.values())
    # What comes with what is declared, too: the geometry kernel, which no line of ours names.
    assert "cadquery-ocp" in found["Always needed"]


def test_stated_licences_are_those_of_the_texts_that_are_installed() -> None:
    """By the licence files of the distributions, which the list's maker does not read."""
    seen = 0
    there = {plain_name(one.metadata["Name"]): one for one in metadata.distributions()}
    for name, (version, licence, _) in sections()["Always needed"].items():
        if name not in there or there[name].version != version:
            continue
        kinds = [kind for kind in TEXTS if kind in licence.replace("Python Software", "PSF")]
        texts = [
            file.read_text(encoding="utf-8")
            for file in there[name].files or []
            if re.search(r"dist-info/.*(LICEN[CS]E|COPYING)[^/]*$", str(file))
        ]
        if kinds and texts:
            seen += 1
            assert any(TEXTS[kind] in " ".join(texts) for kind in kinds), (name, licence)
    if seen < 10:
        pytest.skip("the list of licences names other versions than are installed: make it anew")


def test_what_is_shipped_is_there_and_named() -> None:
    rows = sections()["Shipped"]
    bundle = (ROOT / "vent_family/release/site/static/viewer.js").read_text(encoding="utf-8")
    version = re.search(r"three ([\d.]+) \(MIT", bundle)
    assert version is not None
    assert plain_name(f"three.js {version[1]}") in rows


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"License-Expression": "MIT", "License": "BSD"}, "MIT"),
        ({"License": "BSD", "Classifier": "License :: OSI Approved :: MIT License"}, "BSD"),
        (
            {"License": "x" * 51, "Classifier": "License :: OSI Approved :: MIT License"},
            "MIT License",
        ),
        ({"License": "LGPL v3", "Classifier": "License :: OSI Approved"}, "LGPL v3"),
        (
            {
                "License": "Of many. Permission is hereby granted, free of charge, to any person"
                " obtaining a copy of this software"
            },
            "MIT",
        ),
        ({"Classifier": "Topic :: Licensing"}, ""),
    ],
)
def test_a_licence_is_named_by_its_shortest_sure_field(fields: dict[str, str], name: str) -> None:
    told = Message()
    for field, value in fields.items():
        told[field] = value
    assert licences.licence_name(told) == name


def test_nothing_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    found = {plain_name(one.name): one for one in needed(["distributed>=2025.1"])}
    assert found["distributed"].declared
    assert not found["tornado"].declared
    with pytest.raises(LookupError, match=r"nowhere-near is not installed: pip install"):
        needed(["nowhere_near>=1"])
    monkeypatch.setattr(licences, "licence_name", lambda told: "")
    with pytest.raises(LookupError, match="rich states no licence"):
        needed(["rich"])
    assert needed(["rich; python_version < '3'"]) == []


def test_all_rights_are_reserved_until_the_owner_decides() -> None:
    assert PROJECT["license"] == "LicenseRef-All-Rights-Reserved"
    assert "All rights reserved" in (ROOT / "README.md").read_text(encoding="utf-8")
