"""The documents' pictures: each is there, drawn by the gallery, and small enough for a page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from vent_family.front.parts import Parts
from vent_family.geometry.projection import cut_x_mm
from vent_family.tools.gallery import CATALOG, document_pictures, main

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "docs" / "pictures"
BY_COMMANDS = {
    "air-flow",
    "air-operating-point",
    "view",
    "water-hose-down",
    "water-mountings",
    "water-penetration",
    "water-sight",
    "water-tracks",
}
"""What the commands beside which they stand have drawn."""
PUBLISHED = {"datasheet", "pages"}
"""What publish makes: a sheet, and the pages as a browser shows them."""


def test_the_documents_show_what_the_gallery_draws() -> None:
    pages = [ROOT / "README.md", *(ROOT / "docs").rglob("*.md")]
    text = "".join(page.read_text(encoding="utf-8") for page in pages)
    shown = set(re.findall(r"\((?:docs/|\.\./)?pictures/([a-z-]+)\.png\)", text))
    drawn = set(document_pictures(Parts(CATALOG)))
    assert shown == drawn | BY_COMMANDS | PUBLISHED
    assert {path.stem for path in FOLDER.iterdir()} == shown
    for name in ("rectangular", "round", "flanged"):
        for path in (FOLDER / f"{name}.png", FOLDER / f"{name}-cut.png"):
            assert 20_000 < path.stat().st_size <= 200_000, path


def test_a_vent_is_cut_open_where_no_rib_stands() -> None:
    assert cut_x_mm([(-30.0, 30.0)]) == 0.0
    assert cut_x_mm([(-40.0, -21.0), (-19.0, -1.0), (1.0, 19.0), (21.0, 40.0)]) == -10.0


def test_names_of_no_picture_are_refused_before_anything_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main([str(tmp_path / "new"), "--only", "round", "squared"])
    assert "no picture is called squared; there are rectangular," in capsys.readouterr().err
    assert not (tmp_path / "new").exists()


def test_one_picture_is_drawn_alone(tmp_path: Path) -> None:
    main([str(tmp_path / "new"), "--only", "datum"])
    (path,) = (tmp_path / "new").iterdir()
    assert path.name == "datum.png"
    assert path.read_bytes().startswith(b"\x89PNG")
