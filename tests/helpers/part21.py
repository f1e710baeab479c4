r"""A small reader of STEP files, written against descriptions of ISO 10303-21 and on purpose
without anything of the package: what it finds is what a stranger would find.

It reads the exchange structure (tokens, header, instances, references), decodes strings, and then
collects products, properties, units and instances of an assembly. The text of the standard was not
read; the rules are those cited in public descriptions of it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

_TOKEN = re.compile(
    r"""
    (?P<space>\s+)
  | (?P<comment>/\*.*?\*/)
  | (?P<string>'(?:[^']|'')*')
  | (?P<reference>\#\d+)
  | (?P<enumeration>\.[A-Z_][A-Z0-9_]*\.)
  | (?P<real>[+-]?\d+\.\d*(?:E[+-]?\d+)?)
  | (?P<integer>[+-]?\d+)
  | (?P<keyword>!?[A-Za-z_][A-Za-z0-9_-]*)
  | (?P<mark>[()=;,$*])
    """,
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True)
class Ref:
    number: int


@dataclass(frozen=True)
class Enum:
    name: str


@dataclass(frozen=True)
class Typed:
    name: str
    value: Any


OMITTED = "<omitted>"
DERIVED = "<derived>"


class Missing(str):
    """``$`` or ``*``: not text, but easy to print."""


@dataclass(frozen=True)
class Instance:
    """An instance: parts by entity name; a simple one has one part."""

    number: int
    parts: dict[str, list[Any]]

    @property
    def name(self) -> str:
        return "+".join(self.parts)


def decode(literal: str) -> str:
    r"""Decode the inside of a string literal.

    ``''`` and ``\\``; ``\X2\`` and ``\X4\`` runs; ``\X\hh``; ``\S\c`` (ISO 8859-1 assumed, the
    default alphabet).
    """
    out = []
    at = 0
    while at < len(literal):
        if literal.startswith("''", at):
            out.append("'")
            at += 2
        elif literal.startswith("\\\\", at):
            out.append("\\")
            at += 2
        elif literal.startswith(("\\X2\\", "\\X4\\"), at):
            width = 4 if literal[at + 2] == "2" else 8
            end = literal.index("\\X0\\", at)
            digits = literal[at + 4 : end]
            assert digits, literal
            assert len(digits) % width == 0, literal
            for start in range(0, len(digits), width):
                out.append(chr(int(digits[start : start + width], 16)))
            at = end + 4
        elif literal.startswith("\\X\\", at):
            out.append(chr(int(literal[at + 3 : at + 5], 16)))
            at += 5
        elif literal.startswith("\\S\\", at):
            out.append(chr(ord(literal[at + 3]) + 128))
            at += 4
        else:
            assert " " <= literal[at] <= "~", literal
            assert literal[at] not in "'\\", literal
            out.append(literal[at])
            at += 1
    return "".join(out)


@dataclass
class Quantity:
    """A value as written, its measure type, and its unit in SI: factor and dimension."""

    value: Any
    measure: str
    factor: float = 1.0
    dimension: dict[str, int] = field(default_factory=dict)

    @property
    def si(self) -> float:
        return float(self.value) * self.factor


@dataclass
class Product:
    number: str
    name: str
    description: str
    revision: str
    attributes: dict[str, Any] = field(default_factory=dict)
    validation: dict[str, Any] = field(default_factory=dict)
    material: dict[str, Any] = field(default_factory=dict)
    bodies: list[str] = field(default_factory=list)


class Exchange:
    """The content of a file."""

    def __init__(self, text: str) -> None:
        assert text.startswith("ISO-10303-21;"), "not an exchange structure"
        assert text.rstrip().endswith("END-ISO-10303-21;"), "the file is cut off"
        self.text = text
        self.comments = 0
        self._tokens = list(self._scan(text))
        self._at = 0
        self.header: dict[str, list[Any]] = {}
        self.instances: dict[int, Instance] = {}
        self.said: dict[tuple[str, str], dict[str, Any]] = {}
        """Attributes of single uses, by number of the assembly and name; see products()."""
        self._read()
        for instance in self.instances.values():
            for ref in _references(list(instance.parts.values())):
                assert ref.number in self.instances, f"#{ref.number} is used but not there"

    @classmethod
    def load(cls, path: Path) -> Exchange:
        # Clear text encoding: nothing but printable ASCII and line ends.
        return cls(path.read_bytes().decode("ascii"))

    # Tokens and records

    def _scan(self, text: str) -> Iterator[tuple[str, str]]:
        at = 0
        while at < len(text):
            match = _TOKEN.match(text, at)
            assert match is not None, f"no token at {text[at : at + 40]!r}"
            at = match.end()
            kind = str(match.lastgroup)
            if kind == "comment":
                self.comments += 1
            elif kind != "space":
                yield kind, match.group()

    def _peek(self) -> str:
        return self._tokens[self._at][1]

    def _take(self, expected: str | None = None) -> tuple[str, str]:
        token = self._tokens[self._at]
        assert expected is None or token[1] == expected, (token, expected)
        self._at += 1
        return token

    def _read(self) -> None:
        for mark in ("ISO-10303-21", ";", "HEADER", ";"):
            self._take(mark)
        while self._peek() != "ENDSEC":
            name = self._take()[1]
            self.header[name] = self._list()
            self._take(";")
        for mark in ("ENDSEC", ";", "DATA", ";"):
            self._take(mark)
        while self._peek() != "ENDSEC":
            kind, text = self._take()
            assert kind == "reference"
            number = int(text[1:])
            assert number not in self.instances, f"#{number} is there twice"
            self._take("=")
            parts = {}
            if self._peek() == "(":
                self._take("(")
                while self._peek() != ")":
                    name = self._take()[1]
                    parts[name] = self._list()
                self._take(")")
            else:
                name = self._take()[1]
                parts[name] = self._list()
            self._take(";")
            self.instances[number] = Instance(number, parts)
        for mark in ("ENDSEC", ";", "END-ISO-10303-21", ";"):
            self._take(mark)
        assert self._at == len(self._tokens)

    def _list(self) -> list[Any]:
        self._take("(")
        out = []
        while self._peek() != ")":
            out.append(self._value())
            if self._peek() == ",":
                self._take(",")
        self._take(")")
        return out

    def _value(self) -> Any:
        if self._peek() == "(":
            return self._list()
        kind, text = self._take()
        if kind == "string":
            return decode(text[1:-1])
        if kind == "reference":
            return Ref(int(text[1:]))
        if kind == "enumeration":
            return Enum(text[1:-1])
        if kind == "real":
            return float(text)
        if kind == "integer":
            return int(text)
        if kind == "keyword":
            (value,) = self._list()
            return Typed(text, value)
        if text == "$":
            return Missing(OMITTED)
        if text == "*":
            return Missing(DERIVED)
        raise AssertionError(text)

    # Meaning

    def get(self, ref: Ref) -> Instance:
        return self.instances[ref.number]

    def all(self, name: str) -> list[tuple[Instance, list[Any]]]:
        """Return the instances that have a part of this name, with its parameters."""
        return [(i, i.parts[name]) for i in self.instances.values() if name in i.parts]

    def products(self) -> dict[str, Product]:
        """Return the products by number, with everything that hangs on them."""
        found: dict[int, Product] = {}
        for definition, params in self.all("PRODUCT_DEFINITION"):
            revision, _, product = self.get(params[2]).parts["PRODUCT_DEFINITION_FORMATION"]
            number, name, description, contexts = self.get(product).parts["PRODUCT"]
            assert contexts, "a product has at least one context"
            found[definition.number] = Product(number, name, description, revision)
        uses: dict[int, dict[str, Any]] = {
            use.number: {} for use, _ in self.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE")
        }
        self.said = {
            (whole, name): said
            for (_, name, whole, _), said in zip(self.occurrences(), uses.values(), strict=True)
        }
        shape_owner = {}
        for shape, (_, _, owner) in self.all("PRODUCT_DEFINITION_SHAPE"):
            if owner.number in found:
                shape_owner[shape.number] = found[owner.number]
        general = {}
        for _, (role, _, held_general, held) in self.all("GENERAL_PROPERTY_ASSOCIATION"):
            assert role == "user defined attribute"
            assert held.number not in general, "one association each"
            general[held.number] = self.get(held_general).parts["GENERAL_PROPERTY"]
        for _, (held, used) in self.all("PROPERTY_DEFINITION_REPRESENTATION"):
            name, role, target = self.get(held).parts["PROPERTY_DEFINITION"]
            _, items, context = self.get(used).parts["REPRESENTATION"]
            assert "REPRESENTATION_CONTEXT" in self.get(context).parts
            (item,) = items
            if held.number in general:
                assert role == "user defined attribute"
                general_id, general_name, _ = general[held.number]
                assert (general_id, general_name) == ("", name)
                item_name, value = self.item(item)
                assert item_name == name
                use = uses.get(target.number)
                attributes = found[target.number].attributes if use is None else use
                assert name not in attributes
                attributes[name] = value
            elif name == "geometric validation property":
                shape_owner[target.number].validation[role] = self.item(item)
            elif name == "material property":
                found[target.number].material[role] = self.item(item)
            else:
                raise AssertionError(f"an unexpected property {name!r}")
        for _, (shape, used) in self.all("SHAPE_DEFINITION_REPRESENTATION"):
            for name in ("ADVANCED_BREP_SHAPE_REPRESENTATION", "SHAPE_REPRESENTATION"):
                for item in self.get(used).parts.get(name, [None, []])[1]:
                    body = self.get(item).parts.get("MANIFOLD_SOLID_BREP")
                    if body is not None:
                        shape_owner[shape.number].bodies.append(body[0])
        return {product.number: product for product in found.values()}

    def item(self, ref: Ref) -> tuple[str, Any]:
        """Return name and value of a representation item."""
        instance = self.get(ref)
        ((kind, params),) = instance.parts.items()
        if kind == "DESCRIPTIVE_REPRESENTATION_ITEM":
            assert isinstance(params[1], str)
            return params[0], params[1]
        if kind == "INTEGER_REPRESENTATION_ITEM":
            assert isinstance(params[1], int)
            return params[0], params[1]
        if kind == "MEASURE_REPRESENTATION_ITEM":
            name, value, unit = params
            assert isinstance(value, Typed), "a measure names its type"
            assert isinstance(value.value, float), "a real has a decimal point"
            factor, dimension = self.unit(unit)
            return name, Quantity(value.value, value.name, factor, dimension)
        if kind == "CARTESIAN_POINT":
            return params[0], tuple(params[1])
        raise AssertionError(kind)

    def unit(self, ref: Ref) -> tuple[float, dict[str, int]]:
        """Return a unit as (factor to the coherent SI unit, exponents by base unit).

        Prefixes and units: the SI brochure of the BIPM (from memory).
        """
        parts = self.get(ref).parts
        if "DERIVED_UNIT" in parts:
            factor = 1.0
            dimension: dict[str, int] = {}
            for element in parts["DERIVED_UNIT"][0]:
                named, exponent = self.get(element).parts["DERIVED_UNIT_ELEMENT"]
                base, exponents = self.unit(named)
                factor *= base**exponent
                for key, power in exponents.items():
                    dimension[key] = dimension.get(key, 0) + round(power * exponent)
            return factor, {key: power for key, power in dimension.items() if power}
        assert list(parts) == sorted(parts), "parts of a complex instance are in order"
        if "CONVERSION_BASED_UNIT" in parts:
            _, conversion = parts["CONVERSION_BASED_UNIT"]
            (measure,) = self.get(conversion).parts.values()
            base, exponents = self.unit(measure[1])
            (stated,) = parts["NAMED_UNIT"]
            assert self._exponents(stated) == exponents
            return measure[0].value * base, exponents
        if "SI_UNIT" in parts:
            # A simple instance inherits NAMED_UNIT's dimensions as its first parameter.
            *dimensions, prefix, name = parts["SI_UNIT"]
            for stated in dimensions or parts["NAMED_UNIT"]:
                assert stated == DERIVED
            scale = _PREFIXES[prefix.name] if isinstance(prefix, Enum) else 1.0
            factor, exponents = _SI[name.name]
            return scale * factor, exponents
        (stated,) = parts["RATIO_UNIT"]
        assert self._exponents(stated) == {}
        return 1.0, {}

    def _exponents(self, ref: Ref) -> dict[str, int]:
        keys = ("m", "kg", "s", "A", "K", "mol", "cd")
        values = self.get(ref).parts["DIMENSIONAL_EXPONENTS"]
        return {key: round(value) for key, value in zip(keys, values, strict=True) if value}

    def context_units(self) -> list[tuple[float, dict[str, int]]]:
        """Return the units of the first geometric context: length, angle, solid angle."""
        _, (units,) = self.all("GLOBAL_UNIT_ASSIGNED_CONTEXT")[0]
        return [self.unit(unit) for unit in units]

    def occurrences(self) -> list[tuple[str, str, str, str]]:
        """Return (id, instance name, assembly number, part number) of each instance."""
        owner = {
            definition.number: self.get(
                self.get(params[2]).parts["PRODUCT_DEFINITION_FORMATION"][2]
            )
            for definition, params in self.all("PRODUCT_DEFINITION")
        }
        return [
            (
                params[0],
                params[1],
                owner[params[3].number].parts["PRODUCT"][0],
                owner[params[4].number].parts["PRODUCT"][0],
            )
            for _, params in self.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE")
        ]

    def placements(self) -> dict[str, tuple[tuple[float, ...], ...]]:
        """Return (origin, Z axis, X axis) of each instance in its assembly, by instance name."""
        return {name: axes for (_, name), axes in self.places().items()}

    def places(self) -> dict[tuple[str, str], tuple[tuple[float, ...], ...]]:
        """Return the same by number of the assembly and instance name."""
        whole = {(ident, name): of for ident, name, of, _ in self.occurrences()}
        found = {}
        for _, (related, shape) in self.all("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION"):
            occurrence = self.get(self.get(shape).parts["PRODUCT_DEFINITION_SHAPE"][2])
            ident, name, *_ = occurrence.parts["NEXT_ASSEMBLY_USAGE_OCCURRENCE"]
            parts = self.get(related).parts
            (transformation,) = parts["REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION"]
            _, _, of, to = self.get(transformation).parts["ITEM_DEFINED_TRANSFORMATION"]
            assert self._axes(of) == ((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
            found[whole[ident, name], name] = self._axes(to)
        return found

    def _axes(self, ref: Ref) -> tuple[tuple[float, ...], ...]:
        _, origin, axis, x_axis = self.get(ref).parts["AXIS2_PLACEMENT_3D"]
        return (
            tuple(self.get(origin).parts["CARTESIAN_POINT"][1]),
            tuple(self.get(axis).parts["DIRECTION"][1]),
            tuple(self.get(x_axis).parts["DIRECTION"][1]),
        )

    def colours(self) -> list[tuple[float, float, float]]:
        """Return the colours that styled items refer to, in file order."""
        found = []
        for _, (_, styles, _) in self.all("STYLED_ITEM"):
            queue = list(styles)
            while queue:
                instance = self.get(queue.pop())
                if "COLOUR_RGB" in instance.parts:
                    found.append(tuple(instance.parts["COLOUR_RGB"][1:]))
                queue += _references(list(instance.parts.values()))
        return found


def _references(value: Any) -> Iterator[Ref]:
    if isinstance(value, Ref):
        yield value
    elif isinstance(value, Typed):
        yield from _references(value.value)
    elif isinstance(value, list):
        for item in value:
            yield from _references(item)


_PREFIXES = {"MEGA": 1e6, "KILO": 1e3, "DECI": 1e-1, "CENTI": 1e-2, "MILLI": 1e-3}
_SI: dict[str, tuple[float, dict[str, int]]] = {
    "METRE": (1.0, {"m": 1}),
    "GRAM": (1e-3, {"kg": 1}),
    "SECOND": (1.0, {"s": 1}),
    "RADIAN": (1.0, {}),
    "STERADIAN": (1.0, {}),
    "NEWTON": (1.0, {"kg": 1, "m": 1, "s": -2}),
    "PASCAL": (1.0, {"kg": 1, "m": -1, "s": -2}),
    "WATT": (1.0, {"kg": 1, "m": 2, "s": -3}),
    "JOULE": (1.0, {"kg": 1, "m": 2, "s": -2}),
    "DEGREE_CELSIUS": (1.0, {"K": 1}),
}

DEGREE = math.pi / 180.0
