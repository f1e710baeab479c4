"""Names a choice column accepts: the catalogue's own, and those that a higher layer brings along.

The catalogue stands below the code that knows what a slat form or a family is. So it keeps the
names alone: whoever registers a form or a family (:mod:`vent_family.spec.registry`) admits its
name here, and from then on cells, messages and the column reference know it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final, Generic, TypeVar

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

Entry = TypeVar("Entry")
NAME: Final = re.compile(r"[a-z][a-z0-9_]{0,39}")
"""What a name may look like: it stands in cells, records and messages."""


class Vocabulary(Generic[Entry]):
    """The names of one kind of thing, each with what the catalogue must know of it.

    As the metadata of an annotated ``str`` it makes a row model accept these names and no others,
    those admitted after the model was written included.

    Parameters
    ----------
    kind
        what the names name, for messages: ``"slat form"``
    own
        the names the catalogue knows by itself, in order; they cannot be withdrawn

    Examples
    --------
    >>> forms = Vocabulary("slat form", {"flat": None})
    >>> forms.admit("wavy", None)
    >>> list(forms), "wavy" in forms, "round" in forms
    (['flat', 'wavy'], True, False)
    >>> forms.withdraw("wavy")
    >>> list(forms)
    ['flat']
    """

    def __init__(self, kind: str, own: Mapping[str, Entry]) -> None:
        self.kind = kind
        self.own = tuple(own)
        self._entries = dict(own)

    def __iter__(self) -> Iterator[str]:
        """Yield the names, the catalogue's own first."""
        return iter(tuple(self._entries))

    def __contains__(self, name: object) -> bool:
        """True if the name is accepted."""
        return name in self._entries

    def __getitem__(self, name: str) -> Entry:
        """Return what is known of a name.

        Raises
        ------
        KeyError
            for a name that is not known
        """
        return self._entries[name]

    def admit(self, name: str, entry: Entry) -> None:
        """Accept one more name.

        Raises
        ------
        ValueError
            if the name is taken, or is not small letters, digits and underscores
        """
        if not NAME.fullmatch(name):
            raise ValueError(
                f"{name!r} does not name a {self.kind}: use up to 40 small letters, digits and"
                " underscores, a letter first"
            )
        if name in self._entries:
            raise ValueError(f"there is a {self.kind} named {name} already")
        self._entries[name] = entry

    def withdraw(self, name: str) -> None:
        """Accept a name no longer.

        Raises
        ------
        ValueError
            if the name is one of the catalogue's own, or was never admitted
        """
        if name in self.own or name not in self._entries:
            raise ValueError(f"{name} is not a {self.kind} that was admitted")
        del self._entries[name]

    def _checked(self, name: str) -> str:
        if name not in self._entries:
            raise PydanticCustomError(
                "literal_error", "Input should be one of {names}", {"names": ", ".join(self)}
            )
        return name

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Return a schema that looks the name up when a value is checked, not before."""
        return core_schema.no_info_after_validator_function(self._checked, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Return the JSON schema of a choice between the names known now."""
        return {"enum": list(self), "type": "string"}
