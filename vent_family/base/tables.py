"""Files of settings in TOML, read into a closed model; all that is wrong is told at once.

Whoever reads such a file says in a few words what it is (:class:`Wording`); the sentences are the
same for all.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeGuard, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from vent_family.base.problems import InputError, Place, Problem

Model = TypeVar("Model", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Said:
    """One kind of fault: its code, and what is wrong in a few words.

    Of an entry ``{what}`` stands for what it is, ``{one}`` for the same with its article.
    """

    code: str
    message: str


@dataclass(frozen=True, slots=True)
class Wording:
    """What is said of a kind of file.

    ``unread`` and ``syntax`` say that it cannot be read and that it is no TOML; ``missing``,
    ``unknown`` and ``unusable`` are said of its entries; ``advice`` says what to do where the file
    cannot be read.
    """

    unread: Said
    syntax: Said
    missing: Said
    unknown: Said
    unusable: Said
    entry: str
    advice: str


def read_settings(path: Path, model: type[Model], wording: Wording) -> Model:
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
                    wording.unread.code,
                    f"{wording.unread.message}: {reason}",
                    file=str(path),
                    suggestion=wording.advice,
                )
            ]
        ) from error
    return parsed_settings(text, str(path), model, wording)


def parsed_settings(text: str, name: str, model: type[Model], wording: Wording) -> Model:
    """Return what the text of a file states; ``name`` is what messages call it.

    Raises
    ------
    InputError
        as :func:`read_settings`
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            [
                Problem(
                    wording.syntax.code,
                    f"{wording.syntax.message}: {error}",
                    file=name,
                    suggestion="correct the line named, decimals with a point",
                )
            ]
        ) from error
    return checked_settings(data, name, model, wording)


def checked_settings(data: Any, name: str, model: type[Model], wording: Wording) -> Model:
    """Return plain data as their model; ``name`` is what messages call where they come from.

    Raises
    ------
    InputError
        as :func:`read_settings`
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
    place: Place = "section" if whole else "entry"
    what = "section" if whole else wording.entry
    one = f"{'an' if what[0] in 'aeiou' else 'a'} {what}"
    said, value, allowed, fix = wording.unusable, "", "", "correct the value"
    if kind == "missing":
        said, fix = wording.missing, "add it"
    elif extra:
        said, fix = wording.unknown, _near(model, loc)
    else:
        value = "" if isinstance(found, dict) else str(found)
        if section and not str(details["msg"]).startswith(_OWN):
            fix = "give its entries under its name in brackets"
        else:
            allowed = _allowed(str(details["msg"]))
    return Problem(
        said.code,
        said.message.format(one=one, what=what),
        file=name,
        column=".".join(str(p) for p in loc),
        place=place,
        value=value,
        allowed=allowed,
        suggestion=fix,
    )


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
