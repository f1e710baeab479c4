"""Pages of one generation: index, comparison, archive, and one page a release.

Everything is relative and nothing is asked for outside: pages work from a disk, a share or any
server. What pages say stands in them as text; scripts only filter, sort and turn.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined

from vent_family.base.atomic import write_bytes
from vent_family.base.said import rounded_off, said, three
from vent_family.release.cautions import CAUTION
from vent_family.release.record import SCHEMA_VERSION
from vent_family.release.site.figures import (
    HEADINGS,
    ORDER,
    RATED_PA,
    KeyFigure,
    Record,
    ToldWater,
    aligned,
    ends,
    exposures,
    found,
    groups_of,
    orders,
    typeset,
    words,
    writers_columns,
)
from vent_family.release.site.known import (
    COST_PLOT,
    PRINT_PLOT,
    first_of,
    listed,
    plot_of,
    water_plots,
)
from vent_family.release.site.library import SiteLibrary, SitePart

ASSETS: Final = ("site.css", "index.js", "compare.js", "viewer.js", "viewer-licence.txt")
"""Files that stand beside the pages as they are."""
CURRENT: Final = "current"
_KEPT: Final = "/-_.~@+,="
"""Letters of paths that links keep as they are."""
_MARKS: Final = {"holds": "✓", "marginal": "◐", "fails": "✕"}
_INDEXED: Final = ("opening", "free_area", "flow_in", "predicted", "mass", f"price_{ORDER}")
"""Figures in the index beside number and family, in the order of its columns."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A release as its page and the index tell it.

    ``record`` is empty where the part's has a layout of another version than these pages read.
    """

    part: SitePart
    record: Record
    page: str
    picture: str | None
    description: str
    aligned: list[KeyFigure | None]
    figures: dict[str, KeyFigure]
    exposures: list[ToldWater]
    searched: str


def render_site(library: SiteLibrary, folder: Path) -> None:
    """Write all pages and assets of one generation into ``folder``, which is there already.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    pages = _environment(library)
    rows = [_row(part) for part in library.parts]
    archive = [_row(part) for part in library.archive]

    def write(name: str, template: str, **given: Any) -> None:
        write_bytes(folder / name, pages.get_template(template).render(given).encode("utf-8"))

    write("index.html", "index.html", rows=rows, here="index", **_choices(rows))
    write("compare.html", "compare.html", rows=rows, here="compare")
    write("archive.html", "archive.html", rows=archive, here="archive")
    write_bytes(folder / "compared.js", _compared(rows))
    in_force = {row.part.part_number: row for row in rows}
    old = {_release(row): row.page for row in archive}
    for row in rows:
        write(row.page, "part.html", here="", newer=None, old=old, **_told(row))
    for row in archive:
        # A release that has been replaced names what replaces it.
        newer = in_force.get(row.part.part_number)
        write(row.page, "part.html", here="", newer=newer, old=old, **_told(row))
    static = files("vent_family.release.site") / "static"
    for name in ASSETS:
        write_bytes(folder / name, (static / name).read_bytes())


def page_name(part: SitePart) -> str:
    """Return the name of a release's page; no two releases share one.

    Part numbers hold no ``@``, and none begins with the words before them.
    """
    if part.status == CURRENT:
        return f"part-{part.part_number}.html"
    return f"old-{part.part_number}@{part.revision}.{part.issue}.html"


def _environment(library: SiteLibrary) -> Environment:
    pages = Environment(
        loader=PackageLoader("vent_family.release.site"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    pages.filters |= {"path": _path, "size": _size, "typeset": typeset, "words": words}
    pages.filters |= {"said": said, "three": three, "rounded_off": rounded_off}
    pages.globals |= {
        "library": library,
        "caution": CAUTION,
        "marks": _MARKS,
        "rated": f"{RATED_PA:g}",
        "order": ORDER,
        "ends": ends,
        "found": found,
    }
    return pages


def _path(path: str) -> str:
    """Return a path as a link writes it.

    Examples
    --------
    >>> _path("../parts/V 1/V#1.stl")
    '../parts/V%201/V%231.stl'
    """
    return quote(path, safe=_KEPT)


def _size(size_bytes: int) -> str:
    """Return the size of a file for people.

    Examples
    --------
    >>> _size(812), _size(65_667), _size(2_928_000)
    ('812 B', '66 kB', '2.9 MB')
    """
    if size_bytes < 1000:
        return f"{size_bytes} B"
    if size_bytes < 999_500:
        return f"{size_bytes / 1e3:.0f} kB"
    return f"{size_bytes / 1e6:.1f} MB"


def _release(row: Entry) -> tuple[str, str, int]:
    return row.part.part_number, row.part.revision, row.part.issue


def _row(part: SitePart) -> Entry:
    record = part.record if found(part.record, "schema_version") == SCHEMA_VERSION else {}
    shown = aligned(record)
    figures = {figure.name: figure for figure in shown if figure is not None}
    told = exposures(record)
    description = found(record, "identity.description") or ""
    searched = [part.part_number, part.revision, part.family, description, part.standing]
    searched += [figures[name].text for name in ("material", "thread") if name in figures]
    searched += [e.name for e in told]
    searched += [words(found(record, "catalogue.slat_form") or "")]
    searched += [text for _, text in writers_columns(record)]
    return Entry(
        part=part,
        record=record,
        page=page_name(part),
        picture=first_of(part, "-front.png"),
        description=description,
        aligned=shown,
        figures=figures,
        exposures=told,
        searched=" ".join(searched),
    )


def _choices(rows: list[Entry]) -> dict[str, Any]:
    """Return what the index can be filtered by, and its columns."""
    return {
        "families": sorted({row.part.family for row in rows}),
        "waters": sorted({e.name for row in rows for e in row.exposures}),
        "pictured": any(row.picture for row in rows),
        "columns": _INDEXED,
        # Headings come from the parts, so that none promises what no part has.
        "headings": {f.name: f.label for row in rows for f in row.figures.values()},
    }


def _told(row: Entry) -> dict[str, Any]:
    """Return what a release's page tells."""
    part, record = row.part, row.record
    return {
        "row": row,
        "part": part,
        "record": record,
        "groups": groups_of(row.aligned),
        "orders": orders(record),
        "own": writers_columns(record),
        "model": first_of(part, "-model.js"),
        "cut": first_of(part, "-cut.png"),
        "section": first_of(part, "-section.svg"),
        "drawing": first_of(part, "-drawing.svg"),
        "sheet": first_of(part, "-datasheet.pdf"),
        "water_plots": water_plots(part),
        "cost_plot": plot_of(part, COST_PLOT),
        "print_plot": plot_of(part, PRINT_PLOT),
        "groups_of_files": listed(part),
    }


def _compared(rows: list[Entry]) -> bytes:
    """Return the figures of all parts as the script that the comparison reads.

    Labels stand in it once; a part's texts follow their order, with null for what it has not.
    """
    columns = [[row.aligned[i] for row in rows] for i in range(len(HEADINGS))]
    first = [next((figure for figure in column if figure), None) for column in columns]
    parts = {
        row.part.part_number: {
            "page": _path(row.page),
            "picture": _path(row.part.href + row.picture) if row.picture else None,
            "words": f"{row.description} ({row.part.family}, revision {row.part.revision})",
            "standing": "" if row.part.standing == CURRENT else row.part.standing,
            "texts": [
                figure.text if figure else None
                for figure, known in zip(row.aligned, first, strict=True)
                if known
            ],
        }
        for row in rows
    }
    labels = [(h, figure.label) for h, figure in zip(HEADINGS, first, strict=True) if figure]
    text = json.dumps({"labels": labels, "parts": parts}, separators=(",", ":"))
    return f"self.ventFigures={text};\n".encode("ascii")
