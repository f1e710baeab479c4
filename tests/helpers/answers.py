"""What commands answer with ``--json``, held against the schema that the command line prints.

The validator is the jsonschema package's, which shares no code with what writes the schemas.
"""

from __future__ import annotations

import functools
import json
import re
from typing import Any

import jsonschema
from typer.testing import CliRunner

from vent_family.front.cli.app import app


@functools.cache
def printed_schema(name: str) -> dict[str, Any]:
    """Return the schema of a name as ``schema`` prints it, itself a valid one."""
    result = CliRunner().invoke(app, ["schema", name])
    assert result.exit_code == 0, result.output
    schema: dict[str, Any] = json.loads(result.output)
    jsonschema.Draft202012Validator.check_schema(schema)
    return schema


def answered(text: str) -> dict[str, Any]:
    """Return an answer that is valid under the schema it names, without the two names."""
    data: dict[str, Any] = json.loads(text, parse_constant=_no_number)
    named = re.fullmatch(r"vent-family/([a-z-]+)-([0-9]+\.[0-9]+)\.schema\.json", data["schema"])
    assert named, data["schema"]
    schema = printed_schema(named[1])
    assert schema["$id"] == data["schema"]
    assert data["schema_version"] == named[2]
    jsonschema.Draft202012Validator(schema).validate(data)
    return {k: v for k, v in data.items() if k not in ("schema", "schema_version")}


def refused(text: str) -> list[dict[str, Any]]:
    """Return the problems of a refusal."""
    assert json.loads(text)["schema"].startswith("vent-family/refusal-")
    problems: list[dict[str, Any]] = answered(text)["problems"]
    assert problems
    return problems


def _no_number(name: str) -> float:
    raise AssertionError(f"{name} is no number in JSON")
