"""Reports of a run as files, and old ones out of the way before it begins."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vent_family.base.atomic import write_bytes
from vent_family.release.reports.junit import junit_xml
from vent_family.release.reports.log import log_text
from vent_family.release.reports.mail import mail_text
from vent_family.release.reports.run import FinishedRun


@dataclass(frozen=True, slots=True)
class ReportPaths:
    """Where reports go; ``None`` for those that nobody asked for.

    ``junit`` is JUnit XML, ``summary`` a mail as text, ``log`` a readable log, ``report`` the
    command's own answer as JSON.
    """

    junit: Path | None = None
    summary: Path | None = None
    log: Path | None = None
    report: Path | None = None

    def cleared(self) -> None:
        """Take old reports away, so that none is left to be taken for one of a run that broke off.

        Raises
        ------
        OSError
            if one cannot be removed, or its folder not be made
        """
        for path in (self.junit, self.summary, self.log, self.report):
            if path is not None:
                path.parent.mkdir(parents=True, exist_ok=True)
                path.unlink(missing_ok=True)

    def written(self, run: FinishedRun, answer: Mapping[str, Any]) -> None:
        """Write the reports of a run, each whole or not at all; ``answer`` is the command's own.

        Raises
        ------
        OSError
            if one cannot be written
        """
        if self.junit is not None:
            write_bytes(self.junit, junit_xml(run))
        if self.summary is not None:
            write_bytes(self.summary, mail_text(run).encode())
        if self.log is not None:
            write_bytes(self.log, log_text(run).encode())
        if self.report is not None:
            text = json.dumps(answer, indent=2, ensure_ascii=False) + "\n"
            write_bytes(self.report, text.encode())
