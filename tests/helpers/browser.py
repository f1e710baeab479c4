"""The browser that pages are tried in: Debian's chromium, and what is done where there is none."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

CHROMIUM = Path("/usr/bin/chromium")
OPTIONS = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
]


def needed(program: Path = CHROMIUM) -> Path:
    """Return where the browser is; without one the test is skipped, where CI is true it fails."""
    if not program.exists():
        told = f"there is no browser at {program}: install the system package chromium"
        if os.environ.get("CI") == "true":
            pytest.fail(told)
        pytest.skip(told)
    return program


@contextmanager
def launching() -> Iterator[Callable[..., Browser]]:
    """Yield what starts a browser with more options."""
    path = needed()
    with sync_playwright() as program:
        yield lambda *more: program.chromium.launch(executable_path=path, args=[*OPTIONS, *more])
