"""The pages of a generation, from its manifest."""

from __future__ import annotations

from html import escape
from pathlib import Path

from vent_family.base.atomic import write_bytes
from vent_family.release.publish.keys import hash_of_code
from vent_family.release.publish.layout import Layout
from vent_family.release.publish.manifest import Manifest

_UP = "../../../"
_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Catalogue of vent inserts</title></head>
<body><h1>Catalogue of vent inserts</h1><p>{caution}</p><ul>
{items}
</ul></body></html>
"""


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
    items = "\n".join(
        f'<li><a href="{_UP}{escape(r.folder)}/">{escape(r.part_number)} {escape(r.revision)}</a>'
        for r in manifest.parts
    )
    page = _PAGE.format(caution=escape(manifest.caution), items=items)
    write_bytes(folder / "index.html", page.encode("utf-8"))
