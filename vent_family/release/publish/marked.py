"""A release published again with a mark: no longer predicted to hold, not to be fitted."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from vent_family.base.atomic import write_bytes
from vent_family.files.json import write_json
from vent_family.release.bar import mark
from vent_family.release.publish.layout import read_json

_PROMISES: Final = ("-datasheet.pdf", "-inspection.pdf", "-drill.pdf")
"""Endings of sheets that people print and carry to a machine: the marked release has none."""


def marked_copy(release: Path, staged: Path, part_number: str, reasons: str, issue: int) -> None:
    """Copy a release's files into a staged folder, record and report marked, other bytes the same.

    Parameters
    ----------
    release
        folder of the last release
    staged
        folder to be made
    part_number
        whose release it is
    reasons
        why it is not to be fitted
    issue
        the issue of the marked release

    Raises
    ------
    OSError
        if the files cannot be read or written
    """
    staged.mkdir()
    gone = {f"{part_number}{ending}" for ending in _PROMISES}
    for path in sorted(release.iterdir()):
        if path.is_file() and path.name not in gone:
            write_bytes(staged / path.name, path.read_bytes())
    mark(staged, part_number, reasons)
    path = staged / f"{part_number}.json"
    record = read_json(path)
    if record is not None:
        record["identity"] = {**record["identity"], "issue": issue}
        record["files"] = [name for name in record["files"] if name not in gone]
        write_json(path, record)
