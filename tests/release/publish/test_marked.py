"""A release that must not be fitted any more: what its marked copy holds, and what it does not."""

from __future__ import annotations

import json
from pathlib import Path

from vent_family.release.publish.marked import marked_copy

RECORD = {
    "identity": {"part_number": "V-1", "issue": 3},
    "standing": "current",
    "files": ["V-1.json", "V-1.step", "V-1-datasheet.pdf", "V-1-drill.pdf"],
}


def test_no_sheet_goes_on_promising(tmp_path: Path) -> None:
    """Sheets lie printed beside a machine, where nobody sees the record."""
    release = tmp_path / "release"
    release.mkdir()
    (release / "V-1.json").write_text(json.dumps(RECORD), encoding="utf-8")
    (release / "V-1-print.md").write_text("# V-1\n", encoding="utf-8")
    for name in ("V-1.step", "V-1-datasheet.pdf", "V-1-drill.pdf", "V-1-inspection.pdf"):
        (release / name).write_bytes(b"bytes")
    before = {p.name: p.read_bytes() for p in release.iterdir()}
    marked_copy(release, tmp_path / "marked", "V-1", "rain gets in", 4)
    after = {p.name: p.read_bytes() for p in (tmp_path / "marked").iterdir()}
    assert set(after) == {"V-1.json", "V-1-print.md", "V-1.step"}
    assert after["V-1.step"] == b"bytes"
    assert after["V-1-print.md"].decode().startswith("**No longer predicted to hold, do not fit.**")
    record = json.loads(after["V-1.json"])
    assert record["identity"]["issue"] == 4
    assert record["files"] == ["V-1.json", "V-1.step"]
    assert "rain gets in" in record["standing"]
    assert {p.name: p.read_bytes() for p in release.iterdir()} == before
