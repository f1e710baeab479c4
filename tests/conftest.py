"""What is told at the end of a run: how many tests were skipped, and for want of what."""

from __future__ import annotations

from collections import Counter
from typing import Any

pytest_plugins = ["pytester"]


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Count the skipped tests by their reason."""
    told = Counter(str(report.longrepr[2]) for report in terminalreporter.stats.get("skipped", []))
    for reason, number in told.most_common():
        tests = "1 test was" if number == 1 else f"{number} tests were"
        terminalreporter.write_line(f"{tests} {reason[:1].lower()}{reason[1:]}")
