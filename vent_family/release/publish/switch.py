"""Switching a library over to a new generation: pages, manifest, and the one rename."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Final

from vent_family.base.atomic import write_bytes
from vent_family.base.lock import Lock
from vent_family.files.json import write_json
from vent_family.release.publish.layout import GENERATIONS, MANIFEST_NAME, SCHEMA_NAME, SITE, Layout
from vent_family.release.publish.ledger import placed
from vent_family.release.publish.manifest import FileEntry, Manifest, index_of, manifest_name
from vent_family.release.publish.pages import render_pages
from vent_family.release.publish.signing import SIGNATURE_NAME, Signer
from vent_family.release.written import hashed, written_files

_STAGED: Final = "generation"
_ENTRY: Final = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title>
<meta http-equiv="refresh" content="0; url={href}"></head>
<body><p><a href="{href}">{title}</a></p></body></html>
"""


def switched(
    layout: Layout, manifest: Manifest, staging: Path, lock: Lock, signer: Signer | None
) -> Manifest:
    """Publish a generation and return its manifest, complete with the hashes of its pages.

    Until the index is renamed, the old generation is the published one; whatever ends the run
    before leaves it as it was.

    Raises
    ------
    LostError
        if another publisher has taken the lock
    OSError
        if the disk refuses
    """
    # Imported here: the kinds of evidence load the kernel, which a run without news does not need.
    from vent_family.release.record import record_schema

    folder = staging / _STAGED
    site = folder / SITE
    site.mkdir(parents=True)
    render_pages(manifest, layout, site)
    write_json(folder / SCHEMA_NAME, record_schema())
    pages = written_files(folder)
    whole = manifest.model_copy(update={"site": [FileEntry.of(f) for f in pages]})
    write_json(folder / MANIFEST_NAME, whole.model_dump(mode="json"))
    listed = hashed(folder / MANIFEST_NAME, MANIFEST_NAME)
    files = [*pages, listed]
    if signer is not None:
        signature = signer.signature((folder / MANIFEST_NAME).read_bytes())
        write_bytes(folder / SIGNATURE_NAME, signature)
        files.append(hashed(folder / SIGNATURE_NAME, SIGNATURE_NAME))
    lock.require()
    placed(layout, folder, f"{GENERATIONS}/{whole.generation}", files)
    index = index_of(whole, replace(listed, name=manifest_name(whole.generation)))
    lock.require()
    write_json(layout.index, index.model_dump(mode="json"))
    entry_page(layout, whole)
    return whole


def entry_page(layout: Layout, manifest: Manifest) -> None:
    """Write the page that sends a browser on to a generation's pages, if it says anything else.

    Raises
    ------
    OSError
        if the disk refuses
    """
    href = f"{GENERATIONS}/{manifest.generation}/{SITE}/index.html"
    page = _ENTRY.format(href=escape(href), title="Catalogue of vent inserts").encode("utf-8")
    try:
        there = layout.entry.read_bytes()
    except OSError:
        there = b""
    if there != page:
        write_bytes(layout.entry, page)
