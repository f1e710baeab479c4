"""JUnit files against the published schema that CI systems go by.

The rules below were read off ``junit-10.xsd`` of the Jenkins xUnit plugin (MIT licence,
github.com/jenkinsci/xunit-plugin): elements, where they may stand, attributes, the form of times.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from tests.release.reports.runs import whole_run
from vent_family.release.reports.junit import junit_xml

WITHIN = {
    "testsuites": {"testsuite"},
    "testsuite": {"testsuite", "properties", "testcase", "system-out", "system-err"},
    "testcase": {"skipped", "error", "failure", "system-out", "system-err"},
    "skipped": set(),
    "error": set(),
    "failure": set(),
    "system-out": set(),
}
REQUIRED = {
    "testsuite": {"name", "tests", "failures", "errors"},
    "testcase": {"name"},
}
ALLOWED = {
    "testsuites": {"name", "time", "tests", "failures", "errors"},
    "testsuite": {
        "name", "tests", "failures", "errors", "group", "time", "skipped", "timestamp",
        "hostname", "id", "package", "file", "log", "url",
    },
    "testcase": {"name", "time", "classname", "group"},
    "skipped": {"type", "message"},
    "error": {"type", "message"},
    "failure": {"type", "message"},
    "system-out": set(),
}  # fmt: skip
SUREFIRE_TIME = r"(([0-9]{0,3},)*[0-9]{3}|[0-9]{0,3})*(\.[0-9]*)?"


def broken_rules(element: ET.Element) -> list[str]:
    """Return where an element and what it holds break the schema."""
    tag = element.tag
    if tag not in WITHIN:
        return [f"{tag} is unknown"]
    found = [f"{tag} lacks {name}" for name in REQUIRED.get(tag, set()) - set(element.keys())]
    found += [f"{tag} has {name}" for name in set(element.keys()) - ALLOWED[tag]]
    found += [f"{tag} holds {child.tag}" for child in element if child.tag not in WITHIN[tag]]
    if tag.startswith("testsuite") and not re.fullmatch(SUREFIRE_TIME, element.get("time", "")):
        found.append(f"{tag} has the time {element.get('time')}")
    if tag in ("testsuites", "testsuite") and (element.text or "").strip():
        found.append(f"{tag} holds text")
    return found + [fault for child in element for fault in broken_rules(child)]


def root(**more: object) -> ET.Element:
    return ET.fromstring(junit_xml(whole_run(**more)))


def test_the_file_keeps_the_published_schema() -> None:
    assert broken_rules(root()) == []
    assert broken_rules(root(outcomes=(), problems=())) == []
    assert broken_rules(root(notes=("a note\x00",))) == []


@pytest.mark.parametrize(
    "bad",
    [
        "<testsuites><testcase name='a'/></testsuites>",
        "<testsuites><testsuite name='a' tests='1' failures='0'/></testsuites>",
        "<testsuites time='1e-05'/>",
        "<testsuites><testsuite name='a' tests='1' failures='0' errors='0'>"
        "<testcase name='b' file='c'/></testsuite></testsuites>",
    ],
)
def test_the_rules_notice_what_breaks_the_schema(bad: str) -> None:
    assert broken_rules(ET.fromstring(bad))


def test_every_row_is_one_case_and_the_counts_are_those_of_the_cases() -> None:
    suites = root()
    (suite,) = suites
    cases = list(suite.iter("testcase"))
    assert [c.get("name") for c in cases] == [
        "vents.csv", "H-NEW", "H-WORSE", "H-SAME", "H-DRAFT", "H-WET", "H-BAD", "H-CRASH",
        "H-HANG", "H-GONE", "H-OLD", "H-ODD", "H-CELL", "row 13", "H\\x07Z",
    ]  # fmt: skip
    for found in (suites, suite):
        assert found.get("tests") == str(len(cases))
        assert found.get("failures") == str(len(list(suite.iter("failure")))) == "6"
        assert found.get("errors") == str(len(list(suite.iter("error")))) == "2"
    assert suite.get("skipped") == str(len(list(suite.iter("skipped")))) == "2"
    assert suite.get("timestamp") == "2026-03-04T02:30:05"


def test_a_failure_tells_codes_and_every_sentence() -> None:
    found = {c.get("name"): c for c in root().iter("testcase")}
    failure = found["H-CELL"].find("failure")
    assert failure is not None
    assert failure.get("type") == "table.cell.number, catalog.cell.small"
    assert failure.get("message") == "vents.csv, row 12, part H-CELL: H-CELL first."
    assert (failure.text or "").count("\n") == 1
    assert "second" in (failure.text or "")
    crash = found["H-CRASH"].find("error")
    assert crash is not None
    assert crash.get("type") == "release.part.crashed"
    assert found["H-NEW"].get("time") == "12.500"


def test_no_text_breaks_the_file() -> None:
    odd = next(c for c in root().iter("testcase") if c.get("name") == "H-ODD")
    text = odd.findtext("system-out") or ""
    assert "a]]><b>&\\x07\\ud800\\n" in text
    assert text.endswith("end")
