"""Classes of change: one revision never means two geometries, everything else is told."""

from __future__ import annotations

import pickle
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.release.releases import DESIGN, FIT, SOLID, gone, release, resized
from vent_family.geometry.fingerprint import Fingerprint
from vent_family.release.discipline import (
    COULD_NOT_RUN,
    MOST_KEPT,
    NO_RECORD,
    Earlier,
    EarlierRecord,
    IssueTold,
    Judgement,
    RevisionError,
    classified,
    foretold,
    settled,
)
from vent_family.release.entry import ReleaseEntry
from vent_family.release.figures import Figure, evidence_hash
from vent_family.release.register import Register, parse_register
from vent_family.release.revisions import next_revision, revision_order

FIGURES = {
    "air.k": Figure("air: loss coefficient", 5.52, "", 0),
    "air.flow": Figure("air, flows 25: drawing in", 7.453, "m3/h", 1),
    "water.outcome": Figure("water: worst predicted outcome", "holds", "", 0),
    "checks[heat].verdict": Figure("checks heat: outcome", "pass"),
}


def with_value(place: str, value: Any) -> dict[str, Figure]:
    return FIGURES | {place: replace(FIGURES[place], value=value)}


def judge(
    now: ReleaseEntry,
    *entries: ReleaseEntry,
    figures: dict[str, Figure] | None = None,
    record: EarlierRecord | None = None,
) -> Judgement:
    """Judge a release after those of the register; its figures say what its evidence hash is."""
    found = FIGURES if figures is None else figures
    now = replace(now, evidence=evidence_hash(found), issue=0, change="new")
    return classified(now, found, Earlier(Register().appended(*entries).entries, record))


FIRST = release(evidence=evidence_hash(FIGURES))
RECORD = EarlierRecord("A", 1, FIGURES, IssueTold("new"))


def moved(**changes: Any) -> tuple[tuple[str, Fingerprint], ...]:
    return (("vent", replace(SOLID, **changes)),)


def test_a_part_that_is_in_no_register_is_new() -> None:
    found = judge(release())
    assert (found.kind, found.entry.issue, found.entry.change) == ("new", 1, "new")
    assert found.said == ()
    assert found.told == IssueTold("new")


def test_nothing_changed() -> None:
    found = judge(release(), FIRST, record=RECORD)
    assert (found.kind, found.entry.issue) == ("bytes", 1)
    assert found.said == ("no figure changed, only bytes of its files",)
    # The record keeps what was said of the issue, so that its bytes can be those of before.
    assert found.told == IssueTold("new")
    same = settled(found, [FIRST], FIRST.content)
    assert (same.kind, same.entry.content) == ("same", FIRST.content)
    other = settled(found, [FIRST], "f" * 64)
    assert (other.kind, other.entry.change, other.entry.content) == ("bytes", "bytes", "f" * 64)


def test_equal_bytes_make_no_other_release_the_same() -> None:
    changed = judge(release(), FIRST, figures=with_value("air.k", 6.0))
    assert settled(changed, [FIRST], FIRST.content).kind == "evidence"


GEOMETRY = {
    "opening": {"fit": resized(FIT, "opening", "rectangle 40 x 42 mm")},
    "datum": {"fit": resized(FIT, "datum", "inner panel face")},
    "envelope": {"fit": resized(FIT, "envelope", "front 3 mm")},
    "panel": {"fit": resized(FIT, "panel", "2 mm")},
    "material": {"material": "PETG"},
    "volume": {"geometry": moved(volume_mm3=14250.0)},
    "number of faces": {"geometry": moved(faces=337)},
    "edges lie elsewhere": {"geometry": moved(edges_mm2=(1170614.9, 1312602.6, 1150904.1))},
    "locknut is new": {"geometry": (("vent", SOLID), ("locknut", SOLID))},
}


@pytest.mark.parametrize("what", GEOMETRY)
def test_another_geometry_under_the_same_revision_is_refused(what: str) -> None:
    now = release(**GEOMETRY[what])
    with pytest.raises(RevisionError) as told:
        judge(now, FIRST, record=RECORD)
    problem = told.value.problem
    assert what in problem.message
    assert "revision A was released with another geometry" in problem.message
    assert (problem.part_number, problem.column, problem.value) == ("HV-R040", "revision", "A")
    assert "raise revision to B, the next letter" in problem.suggestion
    assert problem.allowed == "a capital letter, then up to three capitals or digits"
    # Raised, the same change is fine, and begins at issue 1 again.
    found = judge(replace(now, revision="B"), FIRST, release(issue=2, change="evidence"))
    assert (found.kind, found.entry.issue, found.entry.revision) == ("revision", 1, "B")
    assert found.told.before == "A.2"
    assert "revision raised from A to B" in found.said


def test_what_decides_the_fit_is_named_first() -> None:
    changes = {
        "fit": resized(resized(FIT, "panel", "2 mm"), "opening", "rectangle 40 x 42 mm"),
        "material": "PETG",
        "design": resized(DESIGN, "banks", "4"),
        "designed_volume_mm3": 15000.0,
        "geometry": moved(volume_mm3=15001.0, faces=400),
    }
    with pytest.raises(RevisionError) as told:
        judge(release(**changes), FIRST)
    message = told.value.problem.message
    order = ["opening", "panel", "material", "banks", "designed volume", "vent: volume", "1 more"]
    places = [message.index(words) for words in order]
    assert places == sorted(places)
    assert "designed volume 15000.0 mm3, before 14289.7 mm3" in message


def test_the_error_survives_the_way_out_of_a_worker() -> None:
    with pytest.raises(RevisionError) as told:
        judge(release(material="PETG"), FIRST)
    assert pickle.loads(pickle.dumps(told.value)).problem == told.value.problem


def test_a_solid_within_the_tolerance_is_the_same() -> None:
    now = release(geometry=moved(volume_mm3=SOLID.volume_mm3 * (1 + 1e-7)))
    assert judge(now, FIRST, record=RECORD).kind == "bytes"


def test_many_small_steps_do_not_add_up() -> None:
    """Each step lies within the tolerance of the one before; all are held against the first."""
    entries = [FIRST]
    for issue in range(2, 5):
        solid = moved(volume_mm3=SOLID.volume_mm3 * (1 + 0.9e-7 * (issue - 1)))
        now = release(geometry=solid)
        if issue == 4:
            with pytest.raises(RevisionError, match="volume"):
                judge(now, *entries)
        else:
            found = judge(now, *entries, figures=with_value("air.k", float(issue)))
            entries.append(found.entry)


def test_layout_alone_is_no_geometry() -> None:
    """The reckoning may change with the code; as long as no face moves, the part is the same."""
    now = release(design=resized(DESIGN, "banks", "4"), designed_volume_mm3=15000.0)
    assert judge(now, FIRST, record=RECORD).kind == "bytes"


def test_other_figures_raise_the_issue_and_are_listed() -> None:
    figures = with_value("air.k", 6.749) | {"air.flow": replace(FIGURES["air.flow"], value=7.0)}
    found = judge(release(), FIRST, figures=figures, record=RECORD)
    assert (found.kind, found.entry.issue, found.entry.change) == ("evidence", 2, "evidence")
    assert found.said == (
        "air: loss coefficient: 6.749, before 5.52",
        "air, flows 25: drawing in: 7 m3/h, before 7.453 m3/h",
    )
    assert found.told == IssueTold("evidence", "A.1", found.said)
    later = judge(release(), FIRST, found.entry, record=EarlierRecord("A", 2, figures))
    assert (later.kind, later.entry.issue) == ("evidence", 3)


@pytest.mark.parametrize("outcome", ["marginal", "fails", "not checked"])
def test_a_verdict_that_got_worse_comes_first(outcome: str) -> None:
    figures = with_value("water.outcome", outcome) | with_value("air.k", 9.0)
    figures["water.outcome"] = replace(FIGURES["water.outcome"], value=outcome)
    found = judge(release(), FIRST, figures=figures, record=RECORD)
    worse = f"water: worst predicted outcome: {outcome}, before holds"
    assert found.worse == (worse,)
    assert found.said == (f"got worse: {worse}", "air: loss coefficient: 9, before 5.52")
    assert found.told.changes[0] == f"got worse: {worse}"


def test_a_verdict_that_got_better_is_an_ordinary_change() -> None:
    before = EarlierRecord("A", 1, with_value("water.outcome", "fails"))
    found = judge(release(), release(), record=before)
    assert found.worse == ()
    assert found.said == ("water: worst predicted outcome: holds, before fails",)


def test_a_new_check_that_fails_got_worse() -> None:
    figures = FIGURES | {"checks[new].verdict": Figure("checks new: outcome", "fail")}
    found = judge(release(), FIRST, figures=figures, record=RECORD)
    assert found.worse == ("checks new: outcome: fail, not stated before",)
    good = FIGURES | {"checks[new].verdict": Figure("checks new: outcome", "pass")}
    assert judge(release(), FIRST, figures=good, record=RECORD).worse == ()


def test_a_figure_that_is_gone_is_told() -> None:
    figures = {place: f for place, f in FIGURES.items() if place != "air.k"}
    found = judge(release(), FIRST, figures=figures, record=RECORD)
    assert found.said == ("air: loss coefficient: no longer stated, before 5.52",)


def test_without_the_earlier_record_the_issue_is_raised_and_that_is_said() -> None:
    found = judge(release(), release(evidence="0" * 16))
    assert (found.kind, found.entry.issue, found.said) == ("evidence", 2, (NO_RECORD,))


def test_a_record_holds_no_more_changes_than_are_read() -> None:
    many = {f"n{k}": Figure(f"number {k}", float(k)) for k in range(100)}
    before = {place: replace(f, value=f.value + 1.0) for place, f in many.items()}
    found = judge(release(), FIRST, figures=many, record=EarlierRecord("A", 1, before))
    assert len(found.changes) == 100
    assert len(found.told.changes) == MOST_KEPT + 1
    assert found.told.changes[-1] == "and 40 more, which the command difference lists"


@pytest.mark.parametrize("known", [Earlier(record=RECORD), Earlier()])
def test_without_the_register_the_check_says_that_it_could_not_run(known: Earlier) -> None:
    now = release(material="PETG", evidence=evidence_hash(FIGURES))
    found = classified(now, FIGURES, known)
    assert found.kind == "new"
    assert (COULD_NOT_RUN in found.said) == (known.record is not None)


def test_without_the_register_issues_go_on_from_the_librarys_record() -> None:
    """A register that was lost does not make an issue mean two things."""
    record = EarlierRecord("A", 3, FIGURES)
    same = judge(release(), record=record)
    other = judge(release(), figures=with_value("air.k", 6.0), record=record)
    raised = judge(release(revision="B"), record=record)
    assert [f.entry.issue for f in (same, other, raised)] == [3, 4, 1]
    assert all(COULD_NOT_RUN in f.said for f in (same, other, raised))
    again = judge(release(), other.entry, record=EarlierRecord("A", 4, FIGURES))
    assert again.entry.issue == 5
    assert parse_register(Register().appended(other.entry, again.entry).text())


def test_a_revision_raised_without_a_change_is_told() -> None:
    """The solid differs, since its revision is marked inside."""
    now = release(revision="B", geometry=moved(volume_mm3=14249.0))
    found = judge(now, FIRST, record=RECORD)
    assert found.kind == "revision"
    assert "fit, sizes, volume and material are as they were" in found.said
    changed = judge(replace(now, fit=resized(FIT, "panel", "2 mm")), FIRST, record=RECORD)
    assert changed.said[1] == "panel 2 mm, before 1.5 mm"
    assert "fit, sizes, volume and material are as they were" not in changed.said


def test_a_letter_left_out_is_told() -> None:
    found = judge(release(revision="D"), FIRST, record=RECORD)
    assert found.kind == "revision"
    assert "revision B was left out" in found.said


LATER = release(revision="B", change="revision", evidence=evidence_hash(FIGURES))


@pytest.mark.parametrize(
    ("revision", "suggestion"),
    [("A", "write B if nothing changed, else C"), ("A2", "write B if nothing changed, else C")],
)
def test_a_revision_is_not_taken_up_again(revision: str, suggestion: str) -> None:
    with pytest.raises(RevisionError) as told:
        judge(release(revision=revision), FIRST, LATER)
    problem = told.value.problem
    assert problem.message == f"revision B was released after revision {revision}"
    assert suggestion in problem.suggestion


def test_a_part_that_returns_keeps_its_revision_and_has_another_issue() -> None:
    found = judge(release(), FIRST, gone(), record=RECORD)
    assert (found.kind, found.entry.issue) == ("returned", 2)
    assert found.said == ("published again after it was withdrawn on 2026-05-06",)
    with pytest.raises(RevisionError, match="opening"):
        judge(release(fit=resized(FIT, "opening", "circle 40 mm")), FIRST, gone())
    raised = judge(release(revision="B"), FIRST, gone(), record=RECORD)
    assert (raised.kind, raised.entry.issue) == ("revision", 1)


@pytest.mark.parametrize("what", [*GEOMETRY, "nothing", "design", "designed volume"])
def test_what_is_foretold_is_what_is_judged(what: str) -> None:
    """Whatever the row alone shows: the same sentence, without the solid."""
    changes = GEOMETRY.get(what, {})
    if what == "design":
        changes = {"design": resized(DESIGN, "banks", "4"), "geometry": moved(faces=400)}
    if what == "designed volume":
        changes = {"designed_volume_mm3": 14000.0, "geometry": moved(volume_mm3=13990.0)}
    now = release(**changes)
    told = foretold(replace(now, geometry=()), [FIRST])
    without = told.problem if told else None
    try:
        judge(now, FIRST)
        problem = None
    except RevisionError as error:
        problem = error.problem
    only_solid = set(changes) == {"geometry"}
    if problem is None or only_solid:
        assert without is None
    else:
        assert without is not None
        assert problem.message.startswith(without.message)
        assert problem.suggestion == without.suggestion
    assert (problem is None) == (what == "nothing")
    # Layout and volume alone are reckoned by code that may have changed.
    assert told is None or told.sure == (what not in ("design", "designed volume"))


def test_a_revision_taken_up_again_is_foretold() -> None:
    told = foretold(release(), [FIRST, LATER])
    assert told is not None
    assert told.problem.message == "revision B was released after revision A"
    assert told.sure
    assert foretold(release(revision="C", material="PC"), [FIRST, LATER]) is None
    assert foretold(release(), []) is None


def test_a_reckoning_that_changed_is_foretold_only_until_it_was_published() -> None:
    now = release(designed_volume_mm3=14300.0)
    assert foretold(now, [FIRST]) is not None
    assert foretold(now, [FIRST, judge(now, FIRST, record=RECORD).entry]) is None


def test_a_volume_that_was_not_reckoned_is_not_compared() -> None:
    assert foretold(release(designed_volume_mm3=None), [FIRST]) is None


CHANGES = st.sampled_from(
    ["nothing", "figure", "worse", "geometry", "material", "raise", "raise and geometry", "lower",
     "withdraw"]
)  # fmt: skip


@given(st.lists(CHANGES, max_size=12))
def test_whatever_happens_one_revision_means_one_geometry(steps: list[str]) -> None:
    """Any history of edits and releases, by rules written out here once more."""
    register, state = Register(), {"revision": "A", "faces": 336, "material": "ASA", "k": 5.0}
    figures: dict[str, Figure] = {}
    record: EarlierRecord | None = None
    meant: dict[str, tuple[int, str]] = {}
    for step in ["nothing", *steps]:
        tried = dict(state)
        if step == "withdraw":
            last = register.latest("HV-R040")
            if last is not None and last.change != "withdrawn":
                register = register.appended(gone(revision=last.revision, issue=last.issue))
            continue
        if step in ("figure", "worse"):
            tried["k"] += 1.0
        if step in ("geometry", "raise and geometry"):
            tried["faces"] += 1
        if step == "material":
            tried["material"] = "PETG" if tried["material"] == "ASA" else "ASA"
        if step.startswith("raise"):
            tried["revision"] = next_revision(str(tried["revision"]))
        if step == "lower":
            tried["revision"] = "A"
        figures = with_value("air.k", tried["k"])
        now = release(
            revision=tried["revision"],
            material=tried["material"],
            geometry=moved(faces=tried["faces"]),
            evidence=evidence_hash(figures),
        )
        known = meant.get(str(tried["revision"]))
        stale = revision_order(str(tried["revision"])) < revision_order(str(state["revision"]))
        other = known is not None and known != (tried["faces"], tried["material"])
        earlier = Earlier(register.of_part("HV-R040"), record)
        if stale or other:
            with pytest.raises(RevisionError):
                classified(now, figures, earlier)
            continue
        found = classified(now, figures, earlier)
        before = register.latest("HV-R040")
        content = evidence_hash(figures).ljust(64, "0")
        done = settled(found, earlier.entries, content)
        assert (done.kind == "same") == (
            before is not None
            and before.change != "withdrawn"
            and (before.revision, before.evidence) == (now.revision, now.evidence)
        )
        if done.kind != "same":
            register = register.appended(done.entry)
        state = tried
        meant[str(tried["revision"])] = (int(tried["faces"]), str(tried["material"]))
        record = EarlierRecord(now.revision, done.entry.issue, figures, done.told)
    # The file holds all of it, and the issues of each revision count up from 1.
    read = parse_register(register.text())
    for revision, solid in meant.items():
        lines = [e for e in read.of("HV-R040", revision) if e.change != "withdrawn"]
        assert {(dict(e.geometry)["vent"].faces, e.material) for e in lines} == {solid}
        issues = [e.issue for e in lines]
        assert issues[0] == 1
        assert all(b - a in (0, 1) for a, b in pairwise(issues))


def test_revisions_go_from_z_on_to_double_letters() -> None:
    following = ["A"]
    while len(following) < 60:
        following.append(next_revision(following[-1]))
    assert [following[k] for k in (1, 25, 26, 27, 51, 52)] == ["B", "Z", "AA", "AB", "AZ", "BA"]
    assert sorted(following, key=revision_order) == following
    assert sorted(["B", "A10", "A", "A2"], key=revision_order) == ["A", "A2", "A10", "B"]


@given(st.sets(st.text("ABYZ19", min_size=1, max_size=4).map("A".__add__), max_size=6))
def test_revisions_have_one_order_and_the_next_lies_behind(revisions: set[str]) -> None:
    assert len({revision_order(revision) for revision in revisions}) == len(revisions)
    for revision in {r[:4] for r in revisions}:
        following = next_revision(revision)
        if following:
            assert following.isalpha()
            assert len(following) <= 4
            assert revision_order(following) > revision_order(revision)
