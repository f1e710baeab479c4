"""What commands answer with ``--json``: each answer names its schema, each schema can be printed.

A new answer is one line of the table below, and its shape in :mod:`vent_family.front.shapes`, which
is loaded only when a schema is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from inspect import isfunction
from typing import Any, Final

from vent_family.base.schemas import answer_schema, stamp

RECORD: Final = "part"
"""Name of the schema of a part's record."""
FILES: Final = (RECORD, "manifest", "library")
"""Schemas of what is a file rather than an answer: record, manifest and index."""


@dataclass(frozen=True, slots=True)
class Answered:
    """One answer: what it is called, what it says, and the name of its shape.

    The first number of its version goes up where a reader of the last one would fail.
    """

    name: str
    meaning: str
    shape: str
    version: str = "1.0"


ANSWERS: Final = {
    a.name: a
    for a in (
        Answered(
            "refusal", "Why nothing was done: wrong words, bad input, interrupted.", "RefusalShape"
        ),
        Answered("init", "What a folder to start from was given.", "InitShape"),
        Answered(
            "check", "What is wrong with a catalogue; on request what water will do.", "check_shape"
        ),
        Answered("propose", "Rows that do what a requirement asks.", "propose_shape"),
        Answered("build", "What became of each row that was built.", "BuildShape"),
        Answered("publish", "What became of each row, and what is published now.", "PublishShape"),
        Answered("plan", "What publish would make, and why.", "PlanShape"),
        Answered("verify", "What of a library is not as it was published.", "VerifyShape"),
        Answered("difference", "What differs between two libraries.", "DifferenceShape"),
        Answered("pins", "What became of pinned releases.", "PinsShape"),
        Answered("row", "What became of one row: a line of --json-lines.", "RowShape"),
        Answered("show", "What a row resolves to.", "ShowShape"),
        Answered("print-check", "What comes off the printer.", "print_check_shape"),
        Answered("cost", "Prices, days and other ways to make parts.", "CostShape"),
        Answered("sweep", "What would do a requirement with entries varied.", "SweepShape"),
        Answered("improve", "Cheaper rows around a part's own.", "improve_shape"),
        Answered("water", "What water is predicted to do to one part.", "water_shape"),
        Answered("air", "What is predicted of a cabinet with a vent.", "AirShape"),
        Answered("columns", "Every column of the catalogue.", "ColumnsShape"),
        Answered("codes", "The code of every problem.", "CodesShape"),
        Answered(
            "update", "Names of an old catalogue that were rewritten, or left.", "UpdateShape"
        ),
    )
}
"""Every answer by its name, which is the command's where a command gives it."""


def stamped(name: str, data: dict[str, Any]) -> dict[str, Any]:
    """Return an answer with the schema it follows in front."""
    return {**stamp(name, ANSWERS[name].version), **data}


def schema_names() -> list[str]:
    """Return the names of all schemas, those of files first."""
    return [*FILES, *ANSWERS]


def schema_named(name: str) -> dict[str, Any]:
    """Return the JSON schema of an answer or a file.

    Raises
    ------
    KeyError
        if there is none of that name
    """
    if name == RECORD:
        from vent_family.release.record import record_schema

        return record_schema()
    if name in FILES:
        from vent_family.release.publish.manifest import library_schemas

        return library_schemas()[name]
    from vent_family.front import shapes

    found = ANSWERS[name]
    shape = getattr(shapes, found.shape)
    kind = shape() if isfunction(shape) else shape
    return answer_schema(name, found.version, found.meaning, kind)
