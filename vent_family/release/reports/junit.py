"""A run as JUnit XML: one test case for each row of the catalogue.

The format has no standard. Written is what the schema ``junit-10.xsd`` of the Jenkins xUnit plugin
allows, the subset that other CI systems read, too.
"""

from __future__ import annotations

from typing import Final
from xml.etree import ElementTree as ET

from vent_family.release.reports.run import FinishedRun, RunLine, State

_TAGS: Final[dict[State, str]] = {
    "refused": "failure",
    "error": "error",
    "left out": "skipped",
}


def junit_xml(run: FinishedRun) -> bytes:
    """Return a run as a JUnit file, UTF-8.

    A row that is refused, or whose part does not clear the bar, is a failure; one on which the
    program failed is an error; retired rows are skipped.
    """
    lines = run.lines()
    count = {tag: str(run.count(state)) for state, tag in _TAGS.items()}
    total = {"tests": str(len(lines)), "failures": count["failure"], "errors": count["error"]}
    time = f"{run.seconds:.3f}"
    root = ET.Element("testsuites", {"name": run.name, "time": time, **total})
    suite = ET.SubElement(
        root,
        "testsuite",
        {
            "name": run.catalogue,
            "time": time,
            "timestamp": run.began.strftime("%Y-%m-%dT%H:%M:%S"),
            "skipped": count["skipped"],
            **total,
        },
    )
    for line in lines:
        _case(suite, line, f"vent-family.{run.command}")
    if run.notes:
        ET.SubElement(suite, "system-out").text = "\n".join(run.notes)
    ET.indent(root)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _case(suite: ET.Element, line: RunLine, group: str) -> None:
    """Add the test case of a row."""
    case = ET.SubElement(
        suite,
        "testcase",
        {"name": line.name, "classname": group, "time": f"{line.seconds:.3f}"},
    )
    text = "\n".join(line.words)
    if line.state == "done":
        if text:
            ET.SubElement(case, "system-out").text = text
        return
    first = line.words[0] if line.words else line.outcome
    kind = ", ".join(line.codes) or line.outcome
    found = ET.SubElement(case, _TAGS[line.state], {"type": kind, "message": first})
    found.text = text
