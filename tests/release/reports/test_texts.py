"""Log and mail of a run: what needs somebody stands first, nothing is lost, no line runs on."""

from __future__ import annotations

import re
from typing import Any

from tests.release.reports.runs import BEGAN, NASTY, failed, problem, whole_run
from vent_family.release.cautions import CAUTION
from vent_family.release.jobs import RowOutcome
from vent_family.release.reports.log import log_text
from vent_family.release.reports.mail import mail_text, subject
from vent_family.release.reports.run import FinishedRun

LINE_MOST = 78
"""RFC 5322, 2.1.1: lines should be no longer, not counting their end."""


def test_the_mail_tells_worse_verdicts_then_failed_rows_then_changes() -> None:
    text = mail_text(whole_run(notes=("an orphan stays",)))
    headings = re.findall(r"^([A-Z ]{5,}.*) \((\d+)\)$", text, re.MULTILINE)
    assert headings == [
        ("GOT WORSE", "1"),
        ("PREDICTED TO LET IN WATER", "1"),
        ("NOT MADE", "5"),
        ("NOT MADE, a fault of the program", "2"),
        ("CHANGED", "3"),
        ("NOTES", "1"),
    ]
    sections = re.split(r"^[A-Z ]{5,}.*\(\d+\)$", text, flags=re.MULTILINE)
    for part, section in (("H-WORSE", 1), ("H-WET", 2), ("H-BAD", 3), ("H-CRASH", 4), ("H-NEW", 5)):
        assert part in sections[section]
    assert "H-SAME" not in text
    assert "orphan" in sections[6]


def test_the_subject_is_one_line_with_the_worst_first() -> None:
    assert subject(whole_run()) == (
        "vent-family publish vents.csv: 1 got worse, 8 of 15 rows not made"
    )
    good = (RowOutcome("H-1", 2, "released", "written"),)
    assert subject(whole_run(outcomes=good, problems=())).endswith(": all rows are good")
    assert mail_text(whole_run()).startswith("Subject: vent-family publish")


def test_no_line_of_a_mail_runs_on_and_the_caution_stands_in_it() -> None:
    long = failed("H-LONG", 20, "slats.gap.narrow")
    text = mail_text(whole_run(outcomes=(*whole_run().outcomes, long)))
    body = text.split("\n", 2)[2]
    assert max(map(len, body.split("\n"))) <= LINE_MOST
    assert CAUTION in re.sub(r"\s+", " ", body)
    text.encode()


def test_a_mail_stays_short_and_says_what_it_leaves_out() -> None:
    many = tuple(failed(f"H-{i}", i, "slats.gap.narrow") for i in range(2, 202))
    text = mail_text(whole_run(outcomes=many, problems=()))
    assert "NOT MADE (200)" in text
    assert "and 180 more, see the log" in text
    assert text.count("\n") < 80


def test_the_log_names_every_row_once_with_what_came_of_it() -> None:
    run = whole_run()
    text = log_text(run)
    line = r"^ {2,}(?:row (\d+)|file)  (\S+|row 13) +(\S.*?)(?: {2,}[\d.]+ s)?$"
    rows = re.findall(line, text, re.MULTILINE)
    assert [int(row or 0) for row, _, _ in rows] == [0, *range(2, 9), *range(8, 15)]
    words = {name: word for _, name, word in rows}
    assert words["H-NEW"] == "written"
    assert words["H-WET"] == "BELOW BAR"
    assert words["H-BAD"] == "FAILED"
    assert words["H-OLD"] == "skipped"
    for each in run.problems:
        assert each.sentence() in text
    assert text.endswith("; 5 min 12 s\n")
    assert "15 rows: 4 refused, 4 written, 3 failed" in text


def test_odd_text_stands_in_the_log_in_plain_signs() -> None:
    text = log_text(whole_run())
    text.encode()
    assert NASTY not in text
    assert "a]]><b>&\\x07" in text


def counted(run: FinishedRun) -> dict[str, Any]:
    return {state: run.count(state) for state in ("done", "refused", "error", "left out")}


def test_a_run_that_was_broken_off_is_one_line_whatever_was_wrong() -> None:
    told = (problem("shop.table.unread", 7, ""), problem("shop.table.unread", 9, ""))
    run = FinishedRun("publish", "vents.csv", BEGAN, 2.0, (), told, broken_off="interrupted")
    (line,) = run.lines()
    assert (line.name, line.state, line.outcome) == ("vents.csv", "refused", "interrupted")
    assert len(line.words) == 2
    assert subject(run) == "vent-family publish vents.csv: the run was interrupted"
    assert log_text(run).splitlines()[-1] == "the run was interrupted; 2.0 s"


def test_states_of_rows() -> None:
    assert counted(whole_run()) == {"done": 5, "refused": 6, "error": 2, "left out": 2}
