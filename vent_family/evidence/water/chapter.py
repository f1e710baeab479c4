"""The water chapter of a part's report: verdicts, operating points and what is not predicted."""

from __future__ import annotations

from vent_family.evidence.outcomes import VERBS
from vent_family.evidence.water.report import CAUTION, Reported, WaterReport

DRY = "Water: the row says dry, so nothing was predicted."


def water_summary(report: WaterReport) -> str:
    """Return what is predicted of all exposures in one line, the limiting mechanism named."""
    if not report.exposures:
        return DRY
    told = []
    for e in report.exposures:
        by = "" if e.verdict.mechanism == "none" else f" (limited by {e.verdict.mechanism})"
        told.append(f"{e.name} predicted to {VERBS[e.verdict.outcome]}{by}")
    return f"Water: {'; '.join(told)}. Insects, dust, snow and ice are not predicted."


def water_lines(report: WaterReport) -> list[str]:
    """Return the lines of the chapter: table of exposures, verdicts in words, cautions."""
    stated = report.conditions
    lines = [f"Air: {stated.driven_by}."]
    if stated.tilt_deg or stated.roll_deg:
        lines[0] += f" Mounted leaning {stated.tilt_deg:g} and turned {stated.roll_deg:g} degrees."
    if not report.exposures:
        return [*lines, "", DRY, "", CAUTION]
    lines += [
        "",
        "| exposure | predicted | limited by | air m3/h | over the face m/s | over the pool |",
        "| --- | --- | --- | --- | --- | --- |",
        *(_row(e) for e in report.exposures),
        "",
        *(f"- {sentence}" for sentence in report.sentences()),
        *(f"- {sentence}" for sentence in report.joint_sentences()),
    ]
    if report.upside_down.unsafe:
        lines.append(f"- {_capital(report.upside_down.reason)}.")
    return [*lines, "", CAUTION]


def _row(report: Reported) -> str:
    verdict, air = report.verdict, report.air
    cells = (
        report.name,
        verdict.outcome,
        verdict.mechanism,
        f"{air.flow_m3_h:.1f} {air.direction}" if air.flow_m3_h else "still",
        f"{air.face_velocity_m_s:.2f}",
        air.depression_words(),
    )
    return f"| {' | '.join(cells)} |"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
