"""Without a browser tests are skipped and counted at the end; where CI is true they fail."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.browser import needed

ROOT = Path(__file__).parents[2]
NOWHERE = Path("/nowhere/chromium")


def test_without_a_browser_a_test_is_skipped_with_the_reason(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="install the system package chromium"):
        needed(NOWHERE)


def test_where_ci_is_true_a_missing_browser_is_a_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="there is no browser at /nowhere/chromium"):
        needed(NOWHERE)


def test_skipped_tests_are_counted_by_their_reason(
    pytester: pytest.Pytester,
) -> None:
    pytester.makeconftest((ROOT / "tests" / "conftest.py").read_text(encoding="utf-8"))
    pytester.makepyfile(
        "import pytest\n"
        "def test_a(): pytest.skip('no browser')\n"
        "def test_b(): pytest.skip('no browser')\n"
        "@pytest.mark.skipif(True, reason='no Python 3.13')\n"
        "def test_c(): ...\n"
        "def test_d(): ...\n"
    )
    lines = pytester.runpytest_inprocess("-q", "-p", "no:xdist").outlines
    assert "2 tests were skipped: no browser" in lines
    assert "1 test was skipped: no Python 3.13" in lines
