"""Nothing outside the forms and the families decides by the name of one, nor by its type."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.helpers.names import classes, decisions, literals
from vent_family.catalog import model
from vent_family.spec.families import FAMILIES
from vent_family.spec.forms import FORMS

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "vent_family"


@dataclass(frozen=True)
class Kind:
    """One kind of thing with names.

    ``homes`` are the folders that hold its objects: there, and in the catalogue's own model, its
    names may decide. ``spoken`` are the folders where a name may stand as sample data.
    """

    names: tuple[str, ...]
    homes: tuple[str, ...]
    spoken: tuple[str, ...] = ("tools",)

    def modules(self, *left_out: str) -> list[Path]:
        """Return the package's modules outside homes, catalogue model and further folders."""
        rest = [
            path
            for path in sorted(PACKAGE.rglob("*.py"))
            if not path.relative_to(PACKAGE)
            .as_posix()
            .startswith((*self.homes, *left_out, "catalog/model.py"))
        ]
        assert len(rest) > 100
        return rest

    def types(self) -> set[str]:
        """Return the names of the classes that the homes define and export as objects' types."""
        found = [
            classes(path.read_text(encoding="utf-8"))
            for home in self.homes
            for path in (PACKAGE / home).rglob("*.py")
        ]
        return set().union(*found) - SHARED


SHARED = {"AirTable", "FormDefaults", "SlatBox", "SlatForm", "Family", "Families"}
"""Classes of the homes that are the same for all: protocols and plain data."""
KINDS = {
    "slat form": Kind(model.SLAT_FORMS.own, ("spec/forms/",)),
    "family": Kind(model.FAMILIES.own, ("spec/families/", "geometry/families/")),
}


def test_the_catalogue_and_the_registries_know_the_same_names() -> None:
    assert tuple(form.name for form in FORMS) == KINDS["slat form"].names
    assert tuple(family.name for family in FAMILIES) == KINDS["family"].names


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_nothing_decides_by_a_name_or_a_type(kind: Kind) -> None:
    types = kind.types()
    assert types
    found = [
        f"{path.relative_to(ROOT)}, {line}"
        for path in kind.modules()
        for line in decisions(path.read_text(encoding="utf-8"), kind.names, types)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_no_name_is_written_out_where_it_could_be_asked_for(kind: Kind) -> None:
    found = [
        f"{path.relative_to(ROOT)}, {line}"
        for path in kind.modules(*kind.spoken)
        for line in literals(path.read_text(encoding="utf-8"), kind.names)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "statement",
    [
        'if stack.form == "flat": pass',
        'if "flat" != form: pass',
        'x = 1 if row.slat_form in ("flat", "folded") else 2',
        'x = form not in {"flat"}',
        'x = form in frozenset({"flat"})',
        'x = form in ["inclined", "flat"]',
        'x = {"flat": 1, "other": 2}[form]',
        'x = {("flat", 1): 2}',
        "x = dict(flat=1)",
        'x = form in {"flat": 1}',
        'x = TABLE["flat"]',
        'x = TABLE["flat", 3]',
        'x = TABLE.get("flat")',
        'x = NAMES.index("flat")',
        'x = form.startswith("flat")',
        'match form:\n    case "flat":\n        pass',
        'match form:\n    case "other" | "flat":\n        pass',
        'match (form, 1):\n    case ("flat", _):\n        pass',
        'class Form(Enum):\n    LEVEL = "flat"',
        'class Form(enum.StrEnum):\n    LEVEL = "flat"',
        'Form = Enum("Form", ["flat", "other"])',
        'Form = Literal["flat", "other"]',
        "x = isinstance(form, Flat)",
        "x = isinstance(form, (Other, forms.Flat))",
        "x = isinstance(form, Other | Flat)",
        "x = issubclass(kind, Flat)",
        "x = type(form) is Flat",
        "x = form.__class__ == Flat",
        "match form:\n    case Flat():\n        pass",
        "match form:\n    case forms.Flat(name=n):\n        pass",
        "def f():\n    def g():\n        return 'flat' == form",
    ],
)
def test_every_way_of_deciding_is_noticed(statement: str) -> None:
    assert decisions(statement, ("flat", "inclined", "folded"), ("Flat",))


@pytest.mark.parametrize(
    "statement",
    [
        'x = Stack("flat", 1.0)',
        'x = {"slat_form": "flat"}',
        "x = form == other.form",
        "x = FORMS[stack.form]",
        'x = form == "flatter"',
        "x = isinstance(form, SlatForm)",
        'FORMS.register(Flat())\n"flat"',
        "x = type(form).__name__",
    ],
)
def test_naming_without_deciding_is_left_alone(statement: str) -> None:
    assert decisions(statement, ("flat", "inclined", "folded"), ("Flat",)) == []


def test_literals_are_found_where_they_stand() -> None:
    source = 'x = 1\ny = f("flat", z="folded")\n"""flat slats"""\n'
    assert literals(source, ("flat", "folded")) == ["line 2: flat", "line 2: folded"]
