"""What docstrings leave out, found in the syntax tree: exceptions, units, numpy's sections."""

from __future__ import annotations

import ast
import builtins
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

Function = ast.FunctionDef | ast.AsyncFunctionDef

EXITS = {"Exit", "StopIteration"}
"""Raised to end a command or an iteration, not to report a fault."""

SUFFIXES = (
    "mm", "mm2", "mm3", "mm4", "m", "m2", "m3", "km", "um", "px", "m_s", "mm_s", "m_s2", "mm2_s",
    "m2_s", "m3_s", "m3_h", "l_min", "mm3_s", "mm_min", "ml", "kg", "g", "kg_m3", "g_cm3",
    "g_mm3", "n", "n_m", "n_mm", "nm", "mpa", "kpa", "pa", "pa_s", "w", "kw", "w_k", "l", "k",
    "c", "deg", "rad", "s", "min", "h", "hz", "percent", "eur", "eur_h", "eur_kg", "kwh",
    "turns", "ratio", "ratios", "share", "heads",
)  # fmt: skip
"""Ends of names that are a unit; 1 for ``ratio`` and ``share``."""

_WORDS = (
    r"mm|m/s|mm/s|m/s²|m3|m³/h|m3/h|m³/s|m3/s|l/min|mm²|mm2|mm³|mm3|mm\^[234]|mm4|m2|m²|cm³|m²/s|m2/s"
    r"|um|µm|px|pixels?|Pa|kPa|MPa|Pa s|kg|kg/m3|kg/m³|g/cm³|g/cm3|Hz|Nm|N m|N mm|W/K|W/\(m² K\)"
    r"|kWh|EUR|euros?|°C|°|degC|deg|[Dd]egrees?|radians?|turns?|seconds?|minutes?"
    r"|hours?|metres?|millimetres?"
    r"|per cent|percent|dimensionless|velocity heads?|[Ll]oss coefficients?|[Rr]atios?|[Ss]hares?"
    r"|fraction|Reynolds numbers?|passage widths|pitches|dy/dz|currency|money|days|lattice units"
    r"|(?:any|the|that|its|their|same|column's) units?"
)
_LETTERS = r"[mgsNWKhJC]|min|ml"
_UNIT = re.compile(
    rf"(?<![\w/])(?:{_WORDS})(?![\w])"
    # A single letter counts after a comma, a bracket or "in" only, and as part of a quotient.
    rf"|(?:,|\(|\bin|\bof 1|\d)\s*(?:{_LETTERS})(?![\w'])(?!\s*[=<>])"
    r"|%|\(1\)|\b(?:number|numbers) of "
)
DIMENSIONLESS = {"re", "reynolds"}
"""Names that alone say what they are."""


@dataclass(frozen=True)
class Docstring:
    """A docstring taken apart: what stands before its sections, and the sections."""

    text: str

    @cached_property
    def sections(self) -> dict[str, str]:
        """The sections by name; what stands before the first is section ``""``."""
        parts = re.split(r"^([A-Z]\w+(?: \w+)?)\n-{3,}$", self.text, flags=re.MULTILINE)
        return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}

    def entries(self, section: str) -> dict[str, str]:
        """Return the entries of a section: each name with its text."""
        found: dict[str, str] = {}
        heads: list[str] = []
        for line in self.sections.get(section, "").splitlines():
            if line and not line[0].isspace():
                heads = [part.strip(" *") for part in line.split(":")[0].split(",")]
                found.update(dict.fromkeys(heads, line.partition(":")[2]))
            else:
                found.update({head: found[head] + " " + line.strip() for head in heads})
        return found


def states_unit(text: str) -> bool:
    """Tell whether a text names a unit, or says that there is none."""
    return _UNIT.search(" ".join(text.split())) is not None


def suffixed(name: str) -> bool:
    """Tell whether a name ends in its unit."""
    return name in DIMENSIONLESS or any(
        name.rstrip("_").endswith(f"_{suffix}") for suffix in SUFFIXES
    )


def is_float(annotation: ast.expr | None) -> bool:
    """Tell whether an annotation speaks of floats, alone, in arrays or in containers."""
    if annotation is None:
        return False
    if isinstance(annotation, ast.Constant) and isinstance(annotation.value, str):
        return is_float(ast.parse(annotation.value, mode="eval").body)
    if isinstance(annotation, ast.Subscript) and _last(annotation.value) == "Annotated":
        assert isinstance(annotation.slice, ast.Tuple)
        return is_float(annotation.slice.elts[0])
    if isinstance(annotation, ast.Subscript) and _last(annotation.value) == "Callable":
        return False  # its own arguments are named where it is defined
    if isinstance(annotation, ast.Subscript) and _last(annotation.value) in ("dict", "Mapping"):
        return False  # its keys say what its values are
    names = {_last(part) for part in ast.walk(annotation) if isinstance(part, ast.expr)}
    return bool(names & {"float", "FloatArray", "float64"})


def without_units(function: Function, class_doc: str = "") -> list[str]:
    """Return the float arguments of a function, and ``return``, whose unit is not stated.

    ``class_doc`` is the docstring of the class, where the arguments of ``__init__`` stand.
    """
    own_doc = ast.get_docstring(function) or ""
    docstring = Docstring(class_doc if function.name == "__init__" and not own_doc else own_doc)
    own = function.args
    arguments = [*own.posonlyargs, *own.args, *own.kwonlyargs, own.vararg, own.kwarg]
    found = [
        a.arg
        for a in arguments
        if a is not None
        and is_float(a.annotation)
        and not suffixed(a.arg)
        and not _argument_told(a, docstring)
    ]
    if is_float(function.returns) and not suffixed(function.name):
        told = docstring.sections[""] + docstring.sections.get("Returns", "")
        told += docstring.sections.get("Yields", "")
        if not states_unit(told):
            found.append("return")
    return found


def fields_without_units(node: ast.ClassDef) -> list[str]:
    """Return the float fields of a data class, arguments of its ``__init__``, without a unit."""
    if not any("dataclass" in ast.unparse(one) for one in node.decorator_list):
        return []
    docstring = Docstring(ast.get_docstring(node) or "")
    found = []
    for field, after in zip(node.body, [*node.body[1:], None], strict=True):
        if not isinstance(field, ast.AnnAssign) or not isinstance(field.target, ast.Name):
            continue
        argument = ast.arg(field.target.id, field.annotation)
        own = isinstance(after, ast.Expr) and states_unit(ast.unparse(after))
        if (
            is_float(field.annotation)
            and not field.target.id.startswith("_")
            and not suffixed(field.target.id)
            and not own
            and not _argument_told(argument, docstring)
        ):
            found.append(field.target.id)
    return found


def _argument_told(argument: ast.arg, docstring: Docstring) -> bool:
    name = argument.arg
    listed = docstring.entries("Attributes") | docstring.entries("Parameters")
    if states_unit(listed.get(name, "")):
        return True
    # In running text the unit follows the name in the same sentence: ``x`` in mm; x (mm).
    for sentence in re.split(r"[.;]\s", docstring.sections[""]):
        mention = re.search(rf"``{name}``|\b{name} \(", sentence)
        if mention and states_unit(sentence[mention.end() - 1 :]):
            return True
    # Options of a command tell it in their help; facts of a record by their second argument.
    return argument.annotation is not None and any(
        (isinstance(part, ast.Constant) and states_unit(str(part.value)))
        or (isinstance(part, ast.Call) and _last(part.func) == "Fact" and len(part.args) > 1)
        for part in ast.walk(argument.annotation)
    )


@dataclass(frozen=True)
class Module:
    """A module's functions, and what each raises by itself or by the private helpers it calls.

    ``parents`` gives the base classes of the exceptions that the package defines.
    """

    tree: ast.Module
    parents: Mapping[str, tuple[str, ...]]

    @cached_property
    def functions(self) -> dict[str, Function]:
        """The functions and methods by name, methods as ``Class.method``."""
        return dict(_functions(self.tree, ""))

    def raised(self, name: str, seen: frozenset[str] = frozenset()) -> set[str]:
        """Return the names of the exceptions that leave a function."""
        if name in seen:
            return set()
        return set(self._leaving(self.functions[name], name, seen | {name}, ()))

    def _leaving(
        self, node: ast.AST, owner: str, seen: frozenset[str], caught: tuple[str, ...]
    ) -> Iterator[str]:
        if isinstance(node, ast.Try):
            # A handler that ends in a bare raise lets go what it caught.
            kept = [h for h in node.handlers if not _raises_again(h)]
            inside = caught + tuple(n for h in kept for n in _caught(h))
            for part in node.body:
                yield from self._leaving(part, owner, seen, inside)
            for part in (*node.handlers, *node.orelse, *node.finalbody):
                yield from self._leaving(part, owner, seen, caught)
            return
        if isinstance(node, ast.Raise) and node.exc is not None:
            for name in self._types(node.exc, owner):
                if not self._is_caught(name, caught):
                    yield name
        if isinstance(node, ast.Call):
            called = self._helper(node.func, owner)
            if called:
                for name in self.raised(called, seen):
                    if not self._is_caught(name, caught):
                        yield name
        for child in ast.iter_child_nodes(node):
            yield from self._leaving(child, owner, seen, caught)

    def _helper(self, called: ast.expr, owner: str) -> str:
        """Return the private function of the module that a call means; empty if none."""
        name = _last(called)
        if not name.startswith("_") or name.startswith("__"):
            return ""
        if isinstance(called, ast.Attribute):
            name = f"{owner.rpartition('.')[0]}.{name}"
        return name if name in self.functions else ""

    def _types(self, raised: ast.expr, owner: str) -> set[str]:
        """Return the exception classes that an expression after ``raise`` may be of."""
        if isinstance(raised, ast.Call):
            name = _last(raised.func)
            maker = self.functions.get(name) or self.functions.get(
                f"{owner.rpartition('.')[0]}.{name}"
            )
            if maker is not None and maker.returns is not None:
                return {_last(maker.returns)} - EXITS
            return {name} - EXITS
        name = _last(raised)
        if name[:1].isupper():
            return {name} - EXITS
        return self._held(name, self.functions[owner]) - EXITS

    def _held(self, name: str, function: Function) -> set[str]:
        """Return the exception classes that a variable holds, by annotation or ``isinstance``."""
        said: list[ast.expr] = []
        for node in ast.walk(function):
            if isinstance(node, ast.AnnAssign) and _last(node.target) == name:
                said.append(node.annotation)
            elif (
                isinstance(node, ast.Call)
                and _last(node.func) == "isinstance"
                and _last(node.args[0]) == name
            ):
                said.append(node.args[1])
        return {
            part.id
            for one in said
            for part in ast.walk(one)
            if isinstance(part, ast.Name) and "Exception" in self._line(part.id)
        }

    def _is_caught(self, name: str, caught: tuple[str, ...]) -> bool:
        return bool(self._line(name) & set(caught))

    def _line(self, name: str) -> set[str]:
        """Return an exception's name with those of the classes it is derived from."""
        known = getattr(builtins, name, None)
        if isinstance(known, type):
            return {parent.__name__ for parent in known.__mro__}
        return {name}.union(*(self._line(parent) for parent in self.parents.get(name, ())))


def undocumented(module: Module, name: str, class_doc: str = "") -> list[str]:
    """Return the exceptions that leave a function and that its ``Raises`` section leaves out.

    ``class_doc`` is the docstring of the class, where the exceptions of ``__init__`` and
    ``__post_init__`` stand.
    """
    text = ast.get_docstring(module.functions[name]) or ""
    told = set(Docstring(text).entries("Raises"))
    if name.rpartition(".")[2] in ("__init__", "__post_init__"):
        told |= set(Docstring(class_doc).entries("Raises"))
    return sorted(module.raised(name) - {one.rpartition(".")[2] for one in told})


FOREIGN = re.compile(
    r":(?:param|parameter|arg|type|returns?|rtype|raises?|except)\b[^:`\n]*:"
    r"|^\s*(?:Args|Arguments|Parameters|Returns|Return|Yields|Raises|Examples?|Notes?)\s*:\s*$"
    r"|^\s*@(?:param|return|raises)\b"
    r"|\b(?:[Rr]aises|[Tt]hrows)\s+(?:an?\s+)?(?::class:)?`"
    r"|\b(?:[Rr]aises|[Tt]hrows)\s+(?:an?\s+)?[A-Z]\w*Error\b",
    re.MULTILINE,
)
KNOWN = {
    "Parameters", "Returns", "Yields", "Raises", "Notes", "Examples", "References", "See Also",
    "Attributes", "Warns", "Warnings", "Other Parameters", "Methods",
}  # fmt: skip


def other_styles(text: str) -> list[str]:
    """Return what a docstring says in another style than numpy's sections."""
    found = [match.group().strip() for match in FOREIGN.finditer(text)]
    found += [s for s in Docstring(text).sections if s and s not in KNOWN]
    # numpy underlines a heading by exactly its length.
    for heading, line in re.findall(r"^([A-Z]\w+(?: \w+)?)\n(-{3,})$", text, flags=re.MULTILINE):
        if heading in KNOWN and len(heading) != len(line):
            found.append(heading)
    return found


def is_public(name: str) -> bool:
    """Tell whether a function's name, with its class if it has one, is public."""
    return not any(part.startswith("_") for part in name.split(".") if not _dunder(part))


def _dunder(name: str) -> bool:
    return name.startswith("__") and name.endswith("__")


def _functions(node: ast.AST, prefix: str) -> Iterator[tuple[str, Function]]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.ClassDef):
            yield from _functions(child, f"{prefix}{child.name}.")
        elif isinstance(child, Function):
            yield f"{prefix}{child.name}", child
        elif isinstance(child, ast.If):
            yield from _functions(child, prefix)


def _caught(handler: ast.ExceptHandler) -> list[str]:
    if handler.type is None:
        return ["BaseException"]
    types = handler.type.elts if isinstance(handler.type, ast.Tuple) else [handler.type]
    return [_last(one) for one in types]


def _raises_again(handler: ast.ExceptHandler) -> bool:
    return any(
        isinstance(part, ast.Raise)
        and (part.exc is None or (handler.name is not None and _last(part.exc) == handler.name))
        for part in ast.walk(handler)
    )


def _last(node: ast.AST) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""
