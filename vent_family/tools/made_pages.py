"""What the documentation takes from the program itself: tables, help, schemas, examples.

Each entry of :data:`MADE` returns Markdown; it takes the place of a line ``<!-- made: NAME -->`` in
a page below ``docs/`` when the site is built, so none of it can be out of date.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from inspect import isclass
from pathlib import Path
from typing import Any, Final

import typer

from vent_family.base.codes import CODES
from vent_family.catalog.reference import OWN_COLUMNS, column_reference
from vent_family.front.answers import ANSWERS, FILES, schema_named, schema_names
from vent_family.front.cli.app import app
from vent_family.front.cli.common import EXIT_CODES
from vent_family.proposing.reference import requirement_reference
from vent_family.release.cautions import CAUTION
from vent_family.tools.licences import LIST

DOCS: Final = Path(__file__).parents[2] / "docs"
EXAMPLES: Final = DOCS / "examples"
MARK: Final = re.compile(r"^<!-- made: ([a-z-]+) -->$", re.MULTILINE)
"""The line of a page that is replaced."""


def page_made(text: str) -> str:
    """Return a page's text with everything in it that the program makes.

    Raises
    ------
    KeyError
        if a mark asks for what nobody makes

    Examples
    --------
    >>> page_made("# Exit codes\\n\\n<!-- made: exit-codes -->\\n").splitlines()[4]
    '| 0 | all that was asked for is done, and nothing is wrong |'
    """
    return MARK.sub(lambda mark: MADE[mark[1]](), text)


def pairs_table(heads: tuple[str, ...], rows: Mapping[str, str]) -> str:
    """Return a Markdown table of two columns.

    Examples
    --------
    >>> print(pairs_table(("Code", "Meaning"), {"`a`": "one | other"}))
    | Code | Meaning |
    | --- | --- |
    | `a` | one \\| other |
    """
    lines = [heads, ("---", "---"), *((k, v.replace("|", "\\|")) for k, v in rows.items())]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def exit_code_table() -> str:
    """Return the exit codes of all commands with their meanings."""
    return pairs_table(("Exit code", ""), {str(code): told for code, told in EXIT_CODES.items()})


def problem_code_table() -> str:
    """Return the codes of all problems with their meanings."""
    return pairs_table(("Code", "Meaning"), {f"`{code}`": told for code, told in CODES.items()})


def command_pages() -> str:
    """Return every command that is not hidden: how it is called, its help, words and options."""
    group: Any = typer.main.get_command(app)
    whole = group.make_context("vent-family", [], resilient_parsing=True)
    return "\n\n".join(
        "\n\n".join(_command(name, command, whole))
        for name, command in group.commands.items()
        if not command.hidden
    )


def _command(name: str, command: Any, whole: Any) -> Iterator[str]:
    context = type(whole)(command, info_name=name, parent=whole)
    usage = " ".join([f"vent-family {name}", *command.collect_usage_pieces(context)])
    yield f"## {name}"
    yield f"```text\n{usage}\n```"
    yield "\n\n".join(" ".join(part.split()) for part in command.help.split("\n\n"))
    asked = [p for p in command.params if p.param_type_name == "argument"]
    if asked:
        told = {f"`{p.name.upper()}`": p.help or "" for p in asked}
        yield pairs_table(("Word", ""), told)
    records = (p.get_help_record(context) for p in command.params if p not in asked)
    told = {f"`{option}`".replace("|", "\\|"): text for option, text in filter(None, records)}
    yield pairs_table(("Option", ""), told)


@cache
def schemas() -> dict[str, dict[str, Any]]:
    """Return every schema by its name, each made once."""
    return {name: schema_named(name) for name in schema_names()}


def schema_pages() -> str:
    """Return every schema by name, with what it describes and its fields."""
    return "\n\n".join("\n\n".join(_schema(*pair)) for pair in schemas().items())


def _schema(name: str, schema: Mapping[str, Any]) -> Iterator[str]:
    yield f"## {name}"
    meaning = str(schema.get("description") or schema.get("title") or "")
    kind = "A file." if name in FILES else "An answer."
    told = ANSWERS[name].meaning if name in ANSWERS else meaning
    link = f'<a href="../schemas/{name}.schema.json">{schema["$id"]}</a>'
    yield f"{kind} {told} The schema: {link}."
    yield pairs_table(
        ("Field", ""),
        {
            f"`{field}`": _field(found, schema.get("$defs", {}))
            for field, found in schema.get("properties", {}).items()
        },
    )
    for inner, found in schema.get("$defs", {}).items():
        fields = found.get("properties", {})
        if name in FILES and any("unit" in field for field in fields.values()):
            yield f"### {inner}"
            yield pairs_table(
                ("Field", ""),
                {f"`{n}`": _field(f, schema["$defs"]) for n, f in fields.items()},
            )


def _field(found: Mapping[str, Any], definitions: Mapping[str, Any]) -> str:
    """Return in words what a field of a schema holds."""
    said = str(found.get("description", ""))
    unit = str(found.get("unit", ""))
    words = [said, "" if unit in ("", "1") else unit, _kind(found, definitions)]
    return "; ".join(word for word in words if word)


def _kind(found: Mapping[str, Any], definitions: Mapping[str, Any]) -> str:
    if "$ref" in found:
        name = found["$ref"].rpartition("/")[2]
        inner = definitions[name].get("properties")
        return f"object of {', '.join(f'`{n}`' for n in inner)}" if inner else f"`{name}`"
    if "const" in found:
        return f"`{found['const']}`"
    if "enum" in found:
        return ", ".join(f"`{value}`" for value in found["enum"])
    if "anyOf" in found:
        return " or ".join(_kind(one, definitions) for one in found["anyOf"])
    if found.get("type") == "array":
        return f"list of {_kind(found.get('items', {}), definitions)}"
    return str(found.get("type", "any"))


def python_pages() -> str:
    """Return directives for all that the package itself offers, and for its calls on CadQuery's."""
    import cadquery as cq

    import vent_family

    names = sorted(n for n in vent_family.__all__ if not n.startswith("_"))
    offered = {n: getattr(vent_family, n) for n in names}
    calls = [
        f"{kind.__name__}.{n}"
        for kind in (cq.Workplane, cq.Assembly)
        for n, call in sorted(vars(kind).items())
        if _is_ours(call)
    ]
    lines = ["## Calls on a workplane or an assembly", "", "```{eval-rst}"]
    lines += [f".. automethod:: cadquery.{call}\n" for call in calls]
    lines += ["```", "", "## The package", "", "```{eval-rst}"]
    lines += [f".. autofunction:: vent_family.{n}\n" for n in names if not isclass(offered[n])]
    lines += [
        f".. autoclass:: vent_family.{n}\n   :members:\n" for n in names if isclass(offered[n])
    ]
    return "\n".join([*lines, "```"])


def _is_ours(call: object) -> bool:
    return str(getattr(call, "__module__", "")).startswith("vent_family.")


def example_pages(folder: Path = EXAMPLES) -> str:
    """Return every example: what its docstring says, its code, what it prints and draws.

    Raises
    ------
    ValueError
        if an example does not begin with a docstring whose first line is its title
    """
    return "\n\n".join("\n\n".join(_example(path)) for path in sorted(folder.glob("*.py")))


def _example(path: Path) -> Iterator[str]:
    text = path.read_text(encoding="utf-8")
    said = re.match(r'"""(.+?)"""\n+', text, re.DOTALL)
    if said is None:
        raise ValueError(f"{path.name} does not begin with a docstring")
    title, _, rest = said[1].partition("\n")
    yield f"## {title.strip().rstrip('.')}"
    yield rest.strip()
    yield f"```python\n{text[said.end() :].rstrip()}\n```"
    printed = path.with_suffix(".txt")
    if printed.exists():
        yield f"It prints:\n\n```text\n{printed.read_text(encoding='utf-8').rstrip()}\n```"
    if path.with_suffix(".png").exists():
        yield f"![{title.strip().rstrip('.')}]({path.stem}.png)"
    yield f"The file: {{download}}`{path.name}`"


MADE: Final[dict[str, Callable[[], str]]] = {
    "columns": lambda: column_reference().strip(),
    "own-columns": lambda: OWN_COLUMNS,
    "exit-codes": exit_code_table,
    "problem-codes": problem_code_table,
    "commands": command_pages,
    "schemas": schema_pages,
    "examples": example_pages,
    "python": python_pages,
    "licences": lambda: LIST.read_text(encoding="utf-8").partition("\n")[2].strip(),
    "requirement": requirement_reference,
    "caution": lambda: CAUTION,
}
"""What is made, by the name that pages ask for it with."""
