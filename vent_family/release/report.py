"""A part's report as Markdown, for people: the chapters of the kinds of evidence that have one."""

from __future__ import annotations

import re
from typing import Any, Final

from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import table
from vent_family.evidence.kind import Kind
from vent_family.evidence.kinds import KINDS
from vent_family.evidence.result import CheckResult
from vent_family.evidence.verdicts import CheckRecord, check_records
from vent_family.release.discipline import IssueTold, Judgement


def report_checks(context: PartContext, section: str | None = None) -> tuple[CheckResult, ...]:
    """Return the verdicts of the kinds of evidence that a report is about."""
    return tuple(check for kind in _told(section) for check in kind.checks(context))


_MARKUP: Final = re.compile(r"([\\`*_{}\[\]<>|#!&~])")
"""What Markdown or HTML would take for markup."""


def escaped(text: str) -> str:
    r"""Return words of a catalogue so that Markdown shows them as they are.

    Examples
    --------
    >>> escaped("Pump <b>2</b> [north]")
    'Pump \\<b\\>2\\</b\\> \\[north\\]'
    """
    return _MARKUP.sub(r"\\\1", text)


def report_text(
    context: PartContext,
    captions: dict[str, str] | None = None,
    *,
    section: str | None = None,
    judgement: Judgement | None = None,
) -> str:
    """Return the report: what to know first, pictures, verdicts, and the kinds' chapters.

    ``captions`` names the pictures by file; without them none is shown. ``section`` keeps to the
    kinds of one section of the record, and computes no other. ``judgement`` says what the release
    changes; without, the files are no release.
    """
    spec = context.spec
    told = _told(section)
    sentences = [sentence for kind in told for sentence in kind.sentences(context)]
    issue = f", issue {judgement.entry.issue}" if judgement else ""
    lines = [
        f"# {spec.part_number} {spec.revision}{issue}: what is predicted",
        "",
        f"{escaped(spec.description)}. {spec.material.name}, {spec.material.description}.",
        "",
        *(f"- {sentence}" for sentence in sentences),
        "- Predicted, not measured. Print one and look at it before printing many.",
    ]
    for file, caption in (captions or {}).items():
        lines += ["", f"![{caption}]({file})"]
    verdicts = table(check_records(report_checks(context, section)), CheckRecord)
    lines += ["", "## Verdicts", "", *verdicts]
    for kind in told:
        chapter = kind.chapter(context)
        if chapter:
            lines += ["", f"## {kind.heading}", "", *chapter]
    if judgement is not None:
        lines += ["", "## What this issue changes", "", *_changes(judgement.told)]
    return "\n".join(lines) + "\n"


def _changes(told: IssueTold) -> list[str]:
    """Return what an issue changes, as the lines of its chapter."""
    if not told.changes:
        return ["The first issue." if not told.before else f"Nothing that is told: {told.change}."]
    since = f"Since {told.before}:" if told.before else "Of this part:"
    return [since, "", *(f"- {escaped(words)}" for words in told.changes)]


def _told(section: str | None) -> list[Kind[Any]]:
    """Return the kinds of evidence with a chapter, all or those of one section of the record."""
    return [kind for kind in KINDS if kind.heading and section in (None, kind.section)]
