"""JSON schemas (draft 2020-12) that say who they are and leave nothing open.

A schema's ``$id`` is a relative reference with its version: it names the schema wherever it is
kept, and no address is claimed for it.
"""

from __future__ import annotations

from typing import Any, Final

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from pydantic_core.core_schema import (
    DataclassField,
    ModelField,
    TypedDictField,
)

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def schema_id(name: str, version: str) -> str:
    """Return the ``$id`` of a schema.

    Examples
    --------
    >>> schema_id("check", "1.0")
    'vent-family/check-1.0.schema.json'
    """
    return f"vent-family/{name}-{version}.schema.json"


def stamp(name: str, version: str) -> dict[str, str]:
    """Return the fields by which an answer names its schema."""
    return {"schema": schema_id(name, version), "schema_version": version}


def schema_of_type(kind: Any) -> dict[str, Any]:
    """Return the closed schema of plain data that a type describes, as it is written.

    All fields of models and dataclasses are required, since all are written; of a typed mapping
    those that it requires. Nothing else is allowed beside them.

    Parameters
    ----------
    kind
        a pydantic model, a dataclass or a ``TypedDict``
    """
    schema = TypeAdapter(kind).json_schema(mode="serialization", schema_generator=_Written)
    _close(schema)
    return schema


def answer_schema(name: str, version: str, meaning: str, kind: Any) -> dict[str, Any]:
    """Return the schema of an answer that names its schema itself; see :func:`stamp`.

    Parameters
    ----------
    name, version
        what the schema is called, and which edition of it
    meaning
        what the answer says, in one sentence
    kind
        the type of all its other fields; see :func:`schema_of_type`
    """
    schema = schema_of_type(kind)
    own = {key: {"const": value} for key, value in stamp(name, version).items()}
    return identified(
        schema
        | {
            "properties": own | schema["properties"],
            "required": [*own, *schema.get("required", [])],
        },
        name,
        version,
        meaning,
    )


def identified(schema: dict[str, Any], name: str, version: str, meaning: str) -> dict[str, Any]:
    """Return a schema with its dialect, ``$id`` and meaning in front."""
    head = {"$schema": DIALECT, "$id": schema_id(name, version), "title": name}
    return {**head, "description": meaning} | {
        k: v for k, v in schema.items() if k not in ("title", "description")
    }


class _Written(GenerateJsonSchema):
    """Fields with a default are written like all others, so they are required."""

    def field_is_required(
        self, field: ModelField | DataclassField | TypedDictField, total: bool
    ) -> bool:
        if field["type"] == "typed-dict-field":
            return field.get("required", total)
        return True


def _close(schema: Any) -> None:
    """Allow nothing beside the properties that objects list, anywhere in a schema."""
    if isinstance(schema, list):
        for part in schema:
            _close(part)
    elif isinstance(schema, dict):
        if isinstance(schema.get("properties"), dict) and schema.get("type") == "object":
            schema["additionalProperties"] = False
        for part in schema.values():
            _close(part)
