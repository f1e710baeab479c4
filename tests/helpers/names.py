"""Finding code that decides by a name: comparisons, matches, tables, enumerations, types."""

from __future__ import annotations

import ast
from collections.abc import Collection, Iterator

LOOKUPS = {"get", "pop", "setdefault", "index", "count", "startswith", "endswith", "removeprefix"}
"""Methods that find something by a word."""
ENUMS = {"Enum", "StrEnum", "IntEnum", "Flag"}


def decisions(source: str, names: Collection[str], types: Collection[str] = ()) -> list[str]:
    """Return a line for every place that decides by one of the names, or by one of the types.

    Parameters
    ----------
    source
        text of a module
    names
        words whose use in a comparison, a ``match``, a table, a lookup or an enumeration decides
    types
        names of classes that ``isinstance``, ``issubclass``, ``type(...) is`` or a ``match`` must
        not ask for
    """
    return [
        f"line {node.lineno}: {why}"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.expr | ast.pattern | ast.stmt)
        for why in _why(node, set(names), set(types))
    ]


def literals(source: str, names: Collection[str]) -> list[str]:
    """Return a line for every string of a module that is one of the names."""
    return [
        f"line {node.lineno}: {node.value}"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and node.value in names
    ]


def classes(source: str) -> set[str]:
    """Return the names of the classes a module defines."""
    return {n.name for n in ast.walk(ast.parse(source)) if isinstance(n, ast.ClassDef)}


def _why(node: ast.AST, names: set[str], types: set[str]) -> Iterator[str]:
    if isinstance(node, ast.Compare):
        sides = [node.left, *node.comparators]
        if any(_words(side) & names for side in sides):
            yield "comparison"
        if any(_is_type_call(s) for s in sides) and any(_classes(s) & types for s in sides):
            yield "comparison of types"
    elif isinstance(node, ast.MatchValue):
        if _words(node.value) & names:
            yield "match"
    elif isinstance(node, ast.MatchClass):
        if _classes(node.cls) & types:
            yield "match of types"
    elif isinstance(node, ast.Dict):
        if any(key is not None and _words(key) & names for key in node.keys):
            yield "table"
    elif isinstance(node, ast.Subscript):
        if _words(node.slice) & names:
            yield "lookup"
    elif isinstance(node, ast.Call):
        yield from _why_call(node, names, types)
    elif isinstance(node, ast.ClassDef):
        values = [part.value for part in node.body if isinstance(part, ast.Assign)]
        is_enum = any(_last(base) in ENUMS for base in node.bases)
        if is_enum and any(_words(value) & names for value in values):
            yield "enumeration"


def _why_call(node: ast.Call, names: set[str], types: set[str]) -> Iterator[str]:
    called = _last(node.func)
    if called == "dict" and any(k.arg in names for k in node.keywords):
        yield "table"
    if called in ENUMS and any(_words(a) & names for a in node.args[1:]):
        yield "enumeration"
    method = isinstance(node.func, ast.Attribute)
    if method and called in LOOKUPS and any(_words(a) & names for a in node.args):
        yield "lookup"
    if called in ("isinstance", "issubclass") and any(_classes(a) & types for a in node.args[1:]):
        yield called


def _words(node: ast.AST) -> set[str]:
    """Return the strings an expression is, or lists."""
    if isinstance(node, ast.Constant):
        return {node.value} if isinstance(node.value, str) else set()
    if isinstance(node, ast.Tuple | ast.List | ast.Set):
        return {word for part in node.elts for word in _words(part)}
    if isinstance(node, ast.Dict):
        return {word for part in node.keys if part is not None for word in _words(part)}
    if isinstance(node, ast.Call) and _last(node.func) in ("frozenset", "set", "tuple", "list"):
        return {word for part in node.args for word in _words(part)}
    return set()


def _classes(node: ast.AST) -> set[str]:
    """Return the last parts of the names in an expression: what classes it may mean."""
    return {_last(part) for part in ast.walk(node) if isinstance(part, ast.Name | ast.Attribute)}


def _is_type_call(node: ast.AST) -> bool:
    if isinstance(node, ast.Attribute) and node.attr == "__class__":
        return True
    return isinstance(node, ast.Call) and _last(node.func) == "type"


def _last(node: ast.AST) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""
