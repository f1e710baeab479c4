"""Files of settings in TOML, read into a closed model; all that is wrong is told at once.

Whoever reads such a file says in a few words what it is (:class:`Wording`); the sentences are the
same for all.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeGuard, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from vent_family.base.problems import InputError, Problem

Model = TypeVar("Model", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Wording:
    """What a file of settings is called.

    ``code`` begins the codes of its problems, which end in ``file.unread``, ``file.syntax``,
    ``entry.missing``, ``entry.unknown`` and ``entry.unusable``; ``file`` and ``entry`` are what
    the whole and one of its entries are called; ``unread`` says what to do where the file cannot
    be read.
    """

    code: str
    file: str
    entry: str
    unread: str


def read_table(path: Path, model: type[Model], wording: Wording) -> Model:
    """Return what a file states.

    Raises
    ------
    InputError
        if the file cannot be read, is no TOML, or a value is missing, unknown or out of range;
        all faults at once
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise InputError(
            [
                Problem(
                    f"{wording.code}.file.unread",
                    f"{wording.file} cannot be read: {reason}",
                    file=str(path),
                    suggestion=wording.unread,
                )
            ]
        ) from error
    return parsed_table(text, str(path), model, wording)


def parsed_table(text: str, name: str, model: type[Model], wording: Wording) -> Model:
    """Return what the text of a file states; ``name`` is what messages call it.

    Raises
    ------
    InputError
        as :func:`read_table`
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            [
                Problem(
                    f"{wording.code}.file.syntax",
                    f"{wording.file} is not valid TOML: {error}",
                    file=name,
                    suggestion="correct the line named, decimals with a point",
                )
            ]
        ) from error
    return checked_table(data, name, model, wording)


def checked_table(data: Any, name: str, model: type[Model], wording: Wording) -> Model:
    """Return plain data as their model; ``name`` is what messages call where they come from.

    Raises
    ------
    InputError
        as :func:`read_table`
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        faults = [_problem(fault, name, model, wording) for fault in error.errors()]
        raise InputError(list(dict.fromkeys(faults))) from error


def _problem(fault: object, name: str, model: type[BaseModel], wording: Wording) -> Problem:
    details = dict(fault)  # type: ignore[call-overload]
    kind = details["type"]
    loc = tuple(p for p in details["loc"] if isinstance(p, str | int))
    found = details.get("input")
    section = _is_section(model, loc)
    extra = kind == "extra_forbidden"
    whole = isinstance(found, dict) if extra else section
    fault_of = Problem(
        f"{wording.code}.entry.unusable",
        "",
        file=name,
        column=".".join(str(p) for p in loc),
        place="section" if whole else "entry",
    )
    what = "section" if whole else wording.entry
    one = f"{'an' if what[0] in 'aeiou' else 'a'} {what}"
    if kind == "missing":
        code, text, fix = "entry.missing", f"{one} is missing", "add it"
    elif extra:
        code, text = "entry.unknown", f"there is no {what} of this name"
        fix = _near(model, loc)
    elif section and not str(details["msg"]).startswith(_OWN):
        text, fix = "a section is not usable", "give its entries under its name in brackets"
        return replace(fault_of, message=text, value=str(found), suggestion=fix)
    else:
        return replace(
            fault_of,
            message=f"{one} is not usable",
            value="" if isinstance(found, dict) else str(found),
            allowed=_allowed(str(details["msg"])),
            suggestion="correct the value",
        )
    return replace(fault_of, code=f"{wording.code}.{code}", message=text, suggestion=fix)


def _near(kind: type[BaseModel], place: Sequence[str | int]) -> str:
    """Return what to do about a name that its section does not have."""
    model: object = kind
    for step in place[:-1]:
        fields = model.model_fields if _is_model(model) else {}
        model = _plain(fields[str(step)].annotation) if str(step) in fields else None
    names = list(model.model_fields) if _is_model(model) else []
    near = difflib.get_close_matches(str(place[-1]), names, 1, _ALIKE)
    return f"did you mean {near[0]}?" if near else "correct its spelling or delete it"


_ALIKE = 0.6
"""How alike two names must be for one to be offered, from 0 to 1."""


def _is_section(kind: type[BaseModel], place: Sequence[str | int]) -> bool:
    """Return whether a place of a table holds entries of its own."""
    model: object = kind
    for step in place:
        fields = model.model_fields if _is_model(model) else {}
        model = _plain(fields[str(step)].annotation) if str(step) in fields else None
    return _is_model(model)


def _plain(annotation: object) -> object:
    """Return the model of an annotation that may be ``None`` besides."""
    return next((a for a in get_args(annotation) if _is_model(a)), annotation)


def _is_model(kind: object) -> TypeGuard[type[BaseModel]]:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


_OWN = "Value error, "
"""How messages of a model's own validators begin."""


def _allowed(message: str) -> str:
    """Return what is allowed, in the words of a message of the reader."""
    if message.startswith(_OWN):
        return message.removeprefix(_OWN)
    return message.removeprefix("Input should be ").lower()
