"""A fault is told as whole sentences, each ended once."""

from __future__ import annotations

import pytest

from vent_family.base.problems import Problem


@pytest.mark.parametrize(
    ("problem", "sentence"),
    [
        (
            Problem("file.empty", "there is no part A-3", suggestion="did you mean A-30?"),
            "Did you mean A-30?",
        ),
        (Problem("file.empty", "the row is empty", suggestion="fill it in!"), "Fill it in!"),
        (Problem("file.empty", "the row is empty", suggestion="fill it in."), "Fill it in."),
        (Problem("file.empty", "the row is empty", suggestion="fill it in"), "Fill it in."),
        (Problem("file.empty", "1 mm is too small", allowed="2 to 3 mm"), "Allowed: 2 to 3 mm."),
        (Problem("file.empty", "which part?"), "which part?"),
        (Problem("file.empty", "the row is empty."), "the row is empty."),
        (Problem("file.empty", "the row is empty", value="?"), "the row is empty (value '?')."),
    ],
)
def test_every_sentence_ends_once(problem: Problem, sentence: str) -> None:
    assert problem.sentence().endswith(sentence)
    for mark in (".", "?", "!"):
        assert f"?{mark}" not in problem.sentence()
        assert f"!{mark}" not in problem.sentence()
        assert f".{mark}" not in problem.sentence()


def test_the_parts_of_a_fault_stay_apart() -> None:
    problem = Problem(
        "file.empty", "what is this?", value="x", allowed="a or b!", suggestion="choose one?"
    )
    assert problem.sentence() == "what is this? (value 'x'). Allowed: a or b! Choose one?"
