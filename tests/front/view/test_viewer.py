"""The viewer of one's own in a real browser, and what is said where none runs."""

from __future__ import annotations

import io
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page
from typer.testing import CliRunner

from tests.helpers.browser import launching
from vent_family.evidence.palette import GREEN, PINK
from vent_family.front.cli.app import app
from vent_family.front.view import viewer

HEAD = "part_number,family,size,status,slat_form,exposure\n"
SMALL = HEAD + "A-30,rectangular,30x30,draft,folded,dry\n"


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind((viewer.HOST, 0))
        port: int = listener.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("vents") / "vents.csv"
    path.write_text(SMALL, encoding="utf-8")
    return path


@pytest.fixture
def port(tmp_path: Path) -> Iterator[int]:
    """Yield where a viewer of one's own listens; it is ended whatever happens."""
    found = free_port()
    words = [sys.executable, "-m", "ocp_viewer", "--port", str(found), "--theme", "light"]
    home = os.environ | {"HOME": str(tmp_path)}
    with subprocess.Popen(words, env=home, stdout=subprocess.DEVNULL) as server:
        try:
            for _ in range(600):
                if viewer._listens(found):
                    break
                assert server.poll() is None, "the viewer ended"
                time.sleep(0.1)
            yield found
        finally:
            server.terminate()


@pytest.fixture
def page(port: int) -> Iterator[Page]:
    with launching() as launch:
        browser = launch()
        found = browser.new_page(viewport={"width": 1000, "height": 760})
        found.goto(f"http://{viewer.HOST}:{port}/")
        yield found
        browser.close()


def shown(*words: str) -> Any:
    return CliRunner().invoke(app, ["show", *words])


def near(page: Page, colour: str) -> int:
    """Return how many pixels of a page's model are near to a colour."""
    pixels = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"))[:, 300:]
    wanted = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return int((np.abs(pixels.astype(int) - wanted).max(axis=2) < 25).sum())


def test_a_part_is_shown_with_its_curves(page: Page, port: int, catalog: Path) -> None:
    page.wait_for_selector("text=Tree", timeout=60_000)
    page.wait_for_function("document.querySelectorAll('canvas').length > 0", timeout=60_000)
    # The server knows its page a moment after the page is there.
    page.wait_for_timeout(1500)
    result = shown(
        "A-30", "-c", str(catalog), "--view", "--port", str(port), "--section", "--evidence"
    )
    assert result.exit_code == 0, result.output
    assert "pink: nearest straight line" in result.output
    page.wait_for_selector("text=bridges (green)", timeout=60_000)
    tree = page.inner_text("body")
    for name in ("A-30, cut", "sight line (pink)", "stopped (black)"):
        assert name in tree
    page.wait_for_timeout(1000)
    assert near(page, PINK) > 30
    assert near(page, GREEN) > 30


def test_no_viewer_is_one_sentence(catalog: Path) -> None:
    result = shown("A-30", "-c", str(catalog), "--view", "--port", str(free_port()))
    assert result.exit_code == 2
    last = result.stderr.strip()
    assert last.count("\n") == 0
    assert "no viewer answers on port" in last
    assert "--picture FILE.png" in last


def test_something_else_on_the_port_is_told(catalog: Path) -> None:
    with socket.socket() as listener:
        listener.bind((viewer.HOST, 0))
        with pytest.raises(viewer.InputError, match="no viewer answers"):
            viewer.running_port(listener.getsockname()[1])


@pytest.mark.parametrize(
    ("words", "package"),
    [
        (["--view"], "ocp-vscode"),
        (["--view"], "ocp-viewer-core"),
        (["--watch", "--picture", "p.png"], "watchfiles"),
    ],
)
def test_a_missing_package_is_one_sentence(
    words: list[str], package: str, catalog: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = package.replace("-", "_")
    monkeypatch.setattr(viewer, "find_spec", lambda name: None if name == gone else find_spec(name))
    result = shown("A-30", "-c", str(catalog), *words)
    assert result.exit_code == 2
    assert f"{package} is not installed" in result.stderr
    assert viewer.INSTALL in result.stderr
    assert result.stderr.strip().count("\n") == 0


def test_several_viewers_ask_for_a_port(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(viewer.PORT_NAME, raising=False)
    live = {viewer.USUAL_PORT}
    monkeypatch.setattr(viewer, "_listens", lambda port: port in live)
    monkeypatch.setattr(viewer, "_known_ports", lambda: [viewer.USUAL_PORT, 4000])
    assert viewer.running_port(None) == viewer.USUAL_PORT
    live.add(4000)
    with pytest.raises(viewer.InputError, match="Say which with --port") as told:
        viewer.running_port(None)
    assert "3939, 4000" in str(told.value)
    monkeypatch.setenv(viewer.PORT_NAME, "4000")
    assert viewer.running_port(None) == 4000
    live.clear()
    monkeypatch.delenv(viewer.PORT_NAME)
    with pytest.raises(viewer.InputError, match="no viewer runs"):
        viewer.running_port(None)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--section"], "option section"),
        (["--watch"], "option watch"),
        (["--port", "4000", "--picture", "p.png"], "option port"),
        (["--watch", "--picture", "p.png", "--json"], "leave out --json"),
    ],
)
def test_options_that_say_nothing_are_refused(words: list[str], told: str, catalog: Path) -> None:
    result = shown("A-30", "-c", str(catalog), *words)
    assert result.exit_code == 2
    assert told.lower() in (result.stdout + result.stderr).lower()
    assert not Path("p.png").exists()
