"""The published library: its index and schema, and the parts that leave it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import SourcedRow
from vent_family.release.bar import DEFAULT_BAR, DO_NOT_FIT, STANDING, PublishIf
from vent_family.release.jobs import RowOutcome

INDEX_NAME: Final = "library.json"
SCHEMA_NAME: Final = "part.schema.json"


def withdraw(rows: Sequence[SourcedRow], out: Path) -> list[RowOutcome]:
    """Take parts that are not released (any more) out of the published folder."""
    outcomes = []
    for source in rows:
        row = source.row
        folder = out / row.part_number
        gone = row.status != "released" and folder.is_dir()
        if gone:
            shutil.rmtree(folder)
        if row.status == "retired":
            text = "taken out of the library" if gone else "retired, not built"
            outcomes.append(
                RowOutcome(
                    row.part_number,
                    source.row_number,
                    row.status,
                    "withdrawn" if gone else "skipped",
                    text,
                )
            )
    return outcomes


def write_index(
    out: Path,
    catalog_rows: Sequence[CatalogRow],
    outcomes: Sequence[RowOutcome],
    stamp: datetime,
    publish_if: PublishIf = DEFAULT_BAR,
) -> None:
    """Write the library's index, every published part with its key facts, and the schema.

    Parts that were not built in this run keep their entry, as long as their folder is there. One
    that did not clear the bar ``publish_if`` keeps its last release, marked as not to be fitted.
    """
    from vent_family.files.json import write_json
    from vent_family.release.record import record_schema

    path = out / INDEX_NAME
    parts = {p["part_number"]: p for p in _read_index(path)}
    for outcome in outcomes:
        if outcome.outcome == "written" and outcome.status == "released":
            parts[outcome.part_number] = {
                "part_number": outcome.part_number,
                "built": stamp.isoformat(timespec="seconds"),
                "publish_if": publish_if,
                "files": [name for name, _ in outcome.files],
                **(outcome.facts or {}),
            }
        elif outcome.outcome == "below bar" and outcome.status == "released":
            last = parts.get(outcome.part_number, {"part_number": outcome.part_number})
            standing = f"{DO_NOT_FIT}: {outcome.message}"
            parts[outcome.part_number] = last | {
                STANDING: standing,
                "water_predicted": outcome.water,
                "publish_if": publish_if,
            }
    order = {row.part_number: i for i, row in enumerate(catalog_rows)}
    kept = [p for n, p in parts.items() if (out / n).is_dir()]
    kept.sort(key=lambda p: (order.get(p["part_number"], len(order)), p["part_number"]))
    write_json(path, {"schema_version": "1.0", "parts": kept})
    write_json(out / SCHEMA_NAME, record_schema())


def _read_index(path: Path) -> list[dict[str, Any]]:
    try:
        return list(json.loads(path.read_text(encoding="utf-8"))["parts"])
    except (OSError, ValueError, KeyError, TypeError):
        # A missing or damaged index is made anew from this run.
        return []
