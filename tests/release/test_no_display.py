"""Everything that draws does so without a display, as on a machine that publishes at night."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
from PIL import Image

HEAD = "part_number,family,size,status,slat_form,exposure\n"
ROW = "V-30,rectangular,30x30,released,folded,dry\n"
DISPLAYS = ("DISPLAY", "WAYLAND_DISPLAY", "XAUTHORITY", "XDG_RUNTIME_DIR")


def test_pictures_drawings_and_sheets_need_no_display(tmp_path: Path) -> None:
    (tmp_path / "vents.csv").write_text(HEAD + ROW, encoding="utf-8")
    bare = {k: v for k, v in os.environ.items() if k not in DISPLAYS and k != "MPLBACKEND"}
    words = ["build", "-c", "vents.csv", "--out", "out", "-j1", "--sheets"]
    command = [sys.executable, "-m", "vent_family.front.cli.app", *words]
    done = subprocess.run(
        command, check=False, capture_output=True, cwd=tmp_path, env=bare, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr
    made = tmp_path / "out" / "V-30"
    pictures = sorted(made.glob("*.png"))
    names = {p.name.removeprefix("V-30-").removesuffix(".png") for p in pictures}
    assert {"front", "cut", "print", "cost", "water-sight"} <= names
    for path in pictures:
        drawn = np.asarray(Image.open(path).convert("L"))
        # What was not drawn is a page of one colour.
        assert drawn.std() > 4.0, path.name
    for name in ("-drawing.svg", "-section.svg", "-datasheet.pdf", "-drill.pdf", "-model.js"):
        assert (made / f"V-30{name}").stat().st_size > 4000, name
