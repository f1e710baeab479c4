"""Whether a library on the disk is what was published: hashes anew, every file and every folder."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic import ValidationError

from vent_family.release.publish.layout import (
    ALLOWED_BESIDE,
    GENERATIONS,
    MANIFEST_NAME,
    OWN,
    PARTS,
    Layout,
    read_json,
)
from vent_family.release.publish.ledger import entries
from vent_family.release.publish.manifest import (
    FileEntry,
    Index,
    Manifest,
    index_of,
    read_current,
)
from vent_family.release.publish.signing import SIGNATURE_NAME, is_signed
from vent_family.release.written import hashed

Fault = Literal["altered", "missing", "foreign", "unreadable"]


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """One thing that is not as published: the path within the library, and what is wrong."""

    path: str
    fault: Fault
    text: str = ""

    def sentence(self) -> str:
        """Return the finding in one line."""
        return f"{self.path}: {self.fault}" + (f", {self.text}" if self.text else "")


@dataclass(frozen=True, slots=True)
class Verified:
    """What came of verifying: the generation, files read, findings, and what lies beside it all.

    ``beside`` are files outside of our folders; they harm nothing.
    """

    generation: str
    files: int
    findings: tuple[Discrepancy, ...]
    beside: tuple[str, ...] = ()


def verify_library(root: Path, key: str = "") -> Verified:
    """Compare everything that a library's index names with what lies on the disk.

    With the public ``key``, in hexadecimal digits, the manifest must be signed by its holder.

    Raises
    ------
    InputError
        if a key is given and the library for signatures is missing
    OSError
        if the folder cannot be read
    """
    layout = Layout(root)
    manifest, damage = read_current(layout)
    if manifest is None:
        name = layout.index.name
        fault: Fault = "missing" if not layout.index.exists() else "unreadable"
        return Verified("", 0, (Discrepancy(name, fault, damage or "nothing is published here"),))
    findings = list(_index(layout, manifest))
    if key and not _signed(layout, manifest, key):
        name = f"{GENERATIONS}/{manifest.generation}/{SIGNATURE_NAME}"
        findings.append(Discrepancy(name, "altered", "no signature by the holder of this key"))
    listed = _listed(manifest)
    count = 0
    for folder, files in listed.items():
        count += len(files)
        findings += _files(layout, folder, files)
    findings += _strangers(layout, listed)
    beside = [
        e.name
        for e in sorted(root.iterdir())
        if e.name not in {layout.index.name, layout.entry.name, OWN, PARTS, GENERATIONS}
        and e.name not in ALLOWED_BESIDE
    ]
    return Verified(manifest.generation, count, tuple(findings), tuple(beside))


def _index(layout: Layout, manifest: Manifest) -> Iterator[Discrepancy]:
    """Compare the index with what its manifest gives."""
    found = read_json(layout.index)
    name = f"{GENERATIONS}/{manifest.generation}/{MANIFEST_NAME}"
    try:
        index = Index.model_validate(found)
    except ValidationError:
        yield Discrepancy(layout.index.name, "unreadable")
        return
    if index.model_dump(mode="json") != index_of(
        manifest, hashed(layout.at(name), name)
    ).model_dump(mode="json"):
        yield Discrepancy(layout.index.name, "altered", "it does not say what its manifest says")


def _signed(layout: Layout, manifest: Manifest, key: str) -> bool:
    try:
        signature = (layout.generation(manifest.generation) / SIGNATURE_NAME).read_bytes()
    except OSError:
        return False
    return is_signed(layout.manifest(manifest.generation).read_bytes(), signature, key)


def _listed(manifest: Manifest) -> dict[str, dict[str, FileEntry]]:
    """Return the files that a manifest lists, by folder and name."""
    found = {f"{GENERATIONS}/{manifest.generation}": {f.name: f for f in manifest.site}}
    for release in (*manifest.parts, *(a.release for a in manifest.archive)):
        found[release.folder] = {f.name: f for f in release.files}
    return found


def _files(layout: Layout, folder: str, files: dict[str, FileEntry]) -> Iterator[Discrepancy]:
    place = layout.at(folder)
    for name, entry in files.items():
        path = place / name
        try:
            if not path.is_file():
                yield Discrepancy(f"{folder}/{name}", "missing")
            elif hashed(path, name).sha256 != entry.sha256:
                yield Discrepancy(f"{folder}/{name}", "altered")
        except OSError as error:
            yield Discrepancy(f"{folder}/{name}", "unreadable", error.strerror or "")
    for path in sorted(place.rglob("*")):
        name = path.relative_to(place).as_posix()
        own = name in (MANIFEST_NAME, SIGNATURE_NAME) and folder.startswith(GENERATIONS)
        if not path.is_dir() and name not in files and not own:
            yield Discrepancy(f"{folder}/{name}", "foreign")


def _strangers(layout: Layout, listed: dict[str, dict[str, FileEntry]]) -> Iterator[Discrepancy]:
    """Find folders among the parts and generations that were never put there by a publisher."""
    ours = {*entries(layout), *listed}
    for top, depth in ((PARTS, 2), (GENERATIONS, 1)):
        for path in sorted((layout.root / top).glob("/".join("*" * depth))):
            relative = path.relative_to(layout.root).as_posix()
            if relative not in ours and not any(name.startswith(f"{relative}/") for name in ours):
                yield Discrepancy(relative, "foreign")
