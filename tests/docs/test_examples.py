"""Every file of docs/examples runs as it stands and prints and draws what the site shows."""

from __future__ import annotations

import io
import runpy
import shutil
from collections.abc import Iterator
from contextlib import redirect_stdout
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
from PIL import Image

from vent_family.front import plugin
from vent_family.tools.made_pages import EXAMPLES, example_pages

ROOT = Path(__file__).parents[2]
FILES = sorted(EXAMPLES.glob("*.py"))
GREY_OFF_MOST = 1.0
"""Mean difference of two pictures' grey levels, of 255: fonts differ a little by their version."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Return a folder as the examples find it; what one registers no other one meets."""
    shutil.copy(ROOT / "catalog.csv", tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(plugin._Defaults, "vents", None)
    before = {kind: dict(vars(kind)) for kind in (cq.Workplane, cq.Assembly)}
    yield tmp_path
    for kind, names in before.items():
        for name in set(vars(kind)) - set(names):
            delattr(kind, name)
        for name, value in names.items():
            if vars(kind)[name] is not value:
                setattr(kind, name, value)


def grey(path: Path) -> np.ndarray:
    """Return a picture as a small one in grey."""
    return np.asarray(Image.open(path).convert("L").resize((70, 40)), dtype=float)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_it_runs_and_prints_and_draws_what_is_shown(path: Path, folder: Path) -> None:
    printed = io.StringIO()
    ended: object = None
    try:
        with redirect_stdout(printed):
            runpy.run_path(str(path), run_name="__main__")
    except SystemExit as end:
        ended = end.code
    assert not ended
    shown = path.with_suffix(".txt")
    if shown.exists():
        assert printed.getvalue() == shown.read_text(encoding="utf-8")
    picture = path.with_suffix(".png")
    if picture.exists():
        off = np.abs(grey(folder / picture.name) - grey(picture)).mean()
        assert off < GREY_OFF_MOST, f"{picture} is not what the example draws now"


def test_what_stands_beside_examples_belongs_to_one() -> None:
    assert len(FILES) >= 2
    stems = {path.stem for path in FILES}
    beside = [p for p in EXAMPLES.iterdir() if p.suffix not in (".py", ".md", "")]
    assert {p.stem for p in beside} <= stems
    assert {p.suffix for p in beside} <= {".txt", ".png"}


def test_the_site_shows_code_print_and_picture_of_each() -> None:
    page = example_pages()
    for path in FILES:
        code = path.read_text(encoding="utf-8").split('"""\n', 1)[1].strip()
        assert f"```python\n{code}\n```" in page
        for beside, mark in ((".txt", "```text\n{}\n```"), (".png", "]({})")):
            file = path.with_suffix(beside)
            if file.exists():
                text = file.read_text(encoding="utf-8").rstrip() if beside == ".txt" else file.name
                assert mark.format(text) in page


def test_an_example_without_a_title_is_refused(tmp_path: Path) -> None:
    (tmp_path / "bare.py").write_text("print(1)\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"bare\.py does not begin with a docstring"):
        example_pages(tmp_path)
