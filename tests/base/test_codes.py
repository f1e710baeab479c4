"""Every problem has a code, every code is listed with its meaning, and every listed one is used.

The syntax trees of the package are walked: whatever takes a ``code`` (problems, faults, refusals,
and the functions that make them) is given a listed one, or hands on one it was given.
"""

from __future__ import annotations

import ast
import functools
import re
from collections.abc import Iterator
from pathlib import Path

from vent_family.base.codes import CODES

ROOT = Path(__file__).parents[2]


@functools.cache
def trees() -> dict[str, ast.Module]:
    """Return the syntax trees of the package without the table of codes itself."""
    found = {
        path.relative_to(ROOT).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted((ROOT / "vent_family").rglob("*.py"))
    }
    assert len(found) > 300
    del found["vent_family/base/codes.py"]
    return found


@functools.cache
def walked(tree: ast.Module) -> list[ast.AST]:
    """Return all nodes of a tree; each is gone through several times."""
    return list(ast.walk(tree))


def takers(trees: dict[str, ast.Module]) -> dict[tuple[str, str], int]:
    """Return what takes a code, with the code's place among the arguments.

    Keys are module and name; the module is empty for what other modules may call, and a method's
    name begins with a dot.
    """
    found: dict[tuple[str, str], int] = {}
    for path, tree in trees.items():
        methods = {
            item for node in walked(tree) if isinstance(node, ast.ClassDef) for item in node.body
        }
        for node in walked(tree):
            place, name = None, ""
            if isinstance(node, ast.FunctionDef) and node.name != "__init__":
                place = place_in_function(node)
                name = f".{node.name}" if node in methods else node.name
            elif isinstance(node, ast.ClassDef):
                place, name = place_in_class(node), node.name
            if place is not None:
                own = name.startswith("_") or not (node in tree.body or node in methods)
                found[path if own else "", name] = place
    return found


def place_in_function(node: ast.FunctionDef) -> int | None:
    """Return the place of a function's ``code`` among its arguments."""
    names = [a.arg for a in node.args.args if a.arg not in ("self", "cls")]
    hints = {a.arg: ast.unparse(a.annotation) for a in node.args.args if a.annotation}
    return names.index("code") if hints.get("code") == "str" else None


def place_in_class(node: ast.ClassDef) -> int | None:
    """Return the place of a class's ``code``, beside its ``message``, in what it is made from."""
    names = [i.target.id for i in node.body if isinstance(i, ast.AnnAssign) and named(i.target)]
    for item in node.body:
        if isinstance(item, ast.FunctionDef) and item.name == "__init__":
            names = [a.arg for a in item.args.args[1:]]
    return names.index("code") if {"code", "message"} <= set(names) else None


def named(node: ast.expr) -> bool:
    return isinstance(node, ast.Name)


def constants(node: ast.expr) -> Iterator[str]:
    """Yield the codes an expression may give; fail where it is neither one nor hands one on."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from constants(node.body)
        yield from constants(node.orelse)
    else:
        handed_on = isinstance(node, ast.Name) and node.id == "code"
        handed_on |= isinstance(node, ast.Attribute) and node.attr == "code"
        assert handed_on, f"no code can be read from: {ast.unparse(node)}"


def given(trees: dict[str, ast.Module]) -> list[tuple[str, str]]:
    """Return every code given to whatever takes one, with where it stands."""
    places, found = takers(trees), []
    for path, tree in trees.items():
        for node in walked(tree):
            if not isinstance(node, ast.Call):
                continue
            method = isinstance(node.func, ast.Attribute)
            name = f".{node.func.attr}" if method else getattr(node.func, "id", "")
            place = places.get((path, name), places.get(("", name)))
            if place is None:
                continue
            by_name = [k.value for k in node.keywords if k.arg == "code"]
            assert by_name or len(node.args) > place, f"{path}:{node.lineno}: no code"
            code = by_name[0] if by_name else node.args[place]
            found += [(text, f"{path}:{node.lineno}") for text in constants(code)]
    return found


@functools.cache
def codes_given() -> list[tuple[str, str]]:
    """Return every code given in the package, with where it stands."""
    return given(trees())


def test_the_walk_sees_problems_faults_and_refusals() -> None:
    found = takers(trees())
    public = {name for module, name in found if not module}
    assert {"Problem", "Fault", "SectionError", ".refuse", "failed", "not_built"} <= public
    assert found["vent_family/catalog/parse/text.py", "_refusal"] == 0
    assert found["", "failed"] == 2
    assert len(codes_given()) > 180


def test_the_walk_notices_what_has_no_code() -> None:
    taker = "class Problem:\n    code: str\n    message: str\n"
    for call in ("Problem()", "Problem(f'{x}.y', 'm')", "Problem(code=name)"):
        bad = {"a.py": ast.parse(taker + call)}
        try:
            given(bad)
        except AssertionError:
            continue
        raise AssertionError(f"{call} went unnoticed")


def test_every_code_given_is_listed() -> None:
    unlisted = [(code, place) for code, place in codes_given() if code not in CODES]
    assert not unlisted, unlisted


def assigned(tree: ast.Module) -> Iterator[ast.expr]:
    """Yield what is assigned to a variable ``code``, or handed on under that name."""
    for node in walked(tree):
        if isinstance(node, ast.keyword) and node.arg == "code":
            yield node.value
        elif isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name) and target.id == "code":
                    yield node.value
                elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    names = [getattr(t, "id", "") for t in target.elts]
                    if "code" in names:
                        yield node.value.elts[names.index("code")]


def test_every_code_that_goes_by_way_of_a_variable_is_listed() -> None:
    found = [
        (node.value, path)
        for path, tree in trees().items()
        for node in assigned(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    assert len(found) > 10
    unlisted = [(code, path) for code, path in found if code not in CODES]
    assert not unlisted, unlisted


def test_every_listed_code_is_used() -> None:
    unused = set(CODES) - {text for text, _ in texts()}
    assert not unused, unused


def texts() -> list[tuple[str, str]]:
    """Return every string constant in the form of a code, with its module."""
    return [
        (node.value, path)
        for path, tree in trees().items()
        for node in walked(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and re.fullmatch(r"[a-z]+(\.[a-z]+){1,3}", node.value)
    ]


def test_codes_are_short_words_and_each_means_something_of_its_own() -> None:
    for code, meaning in CODES.items():
        assert re.fullmatch(r"[a-z]+(\.[a-z]+){1,3}", code), code
        assert 10 <= len(meaning) <= 90, code
        assert "\n" not in meaning, code
        assert meaning[0].islower(), code
        assert not meaning.endswith("."), code
    assert len(set(CODES.values())) == len(CODES)


def test_the_table_names_each_code_once() -> None:
    """A dictionary forgets the first of two equal keys; its source does not."""
    source = (ROOT / "vent_family" / "base" / "codes.py").read_text(encoding="utf-8")
    written = re.findall(r'^    "([a-z.]+)": ', source, re.MULTILINE)
    assert sorted(written) == sorted(CODES)
