"""The pages of a generation, from its manifest and the records of its parts."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from vent_family.release.publish.keys import hash_of_code
from vent_family.release.publish.layout import Layout, read_json
from vent_family.release.publish.manifest import Manifest, PartEntry
from vent_family.release.site.library import (
    SiteFile,
    SiteLibrary,
    SitePart,
    SiteRelease,
    Status,
)

_UP: Final = "../../../"
"""From the pages of a generation to the library's folder."""


def pages_made_by() -> str:
    """Return a hash of the code that makes the pages, 16 hexadecimal digits."""
    return hash_of_code(("release/site", "release/publish"))


def render_pages(manifest: Manifest, layout: Layout, folder: Path) -> None:
    """Write the pages of a generation into a folder.

    Raises
    ------
    OSError
        if the disk refuses
    """
    # Imported here: it loads the kernel, which a run without news does not need.
    from vent_family.release.site.render import render_site

    render_site(site_library(manifest, layout), folder)


def site_library(manifest: Manifest, layout: Layout) -> SiteLibrary:
    """Return what the pages of a generation are told."""
    return SiteLibrary(
        generation=manifest.generation,
        time=manifest.made,
        catalogue=manifest.catalogue.name,
        parts=tuple(_part(release, "current", layout) for release in manifest.parts),
        archive=tuple(_part(a.release, a.why, layout) for a in manifest.archive),
    )


def _part(release: PartEntry, status: Status, layout: Layout) -> SitePart:
    record = read_json(layout.at(release.folder) / f"{release.part_number}.json") or {}
    return SitePart(
        part_number=release.part_number,
        revision=release.revision,
        issue=release.issue,
        family=str(release.facts.get("family", "")),
        status=status,
        standing=release.standing,
        href=f"{_UP}{release.folder}/",
        record=record,
        files=tuple(SiteFile(f.name, f.size_bytes, f.sha256) for f in release.files),
        history=tuple(
            SiteRelease(h.revision, h.issue, h.released, h.change, tuple(h.changes))
            for h in release.history
        ),
    )
