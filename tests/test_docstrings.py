"""What every public docstring says: exceptions, units, in numpy's sections."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.helpers.docstrings import (
    Function,
    Module,
    fields_without_units,
    is_public,
    other_styles,
    undocumented,
    without_units,
)

ROOT = Path(__file__).parents[1]


@cache
def modules() -> dict[Path, Module]:
    """Return the package's modules, which know each other's exceptions."""
    trees = {
        path.relative_to(ROOT): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted((ROOT / "vent_family").rglob("*.py"))
    }
    parents = dict(line for tree in trees.values() for line in ancestry(tree))
    return {path: Module(tree, parents) for path, tree in trees.items()}


def ancestry(tree: ast.AST) -> Iterator[tuple[str, tuple[str, ...]]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            yield node.name, tuple(b.id for b in node.bases if isinstance(b, ast.Name))


def class_docs(module: Module) -> dict[str, str]:
    classes = (node for node in ast.walk(module.tree) if isinstance(node, ast.ClassDef))
    return {node.name: ast.get_docstring(node) or "" for node in classes}


def missing(module: Module) -> Iterator[str]:
    """Yield a line for every exception or unit that a public function does not state."""
    docs = class_docs(module)
    for name, function in module.functions.items():
        if not is_public(name):
            continue
        of_class = docs.get(name.rpartition(".")[0], "")
        for exception in undocumented(module, name, of_class):
            yield f"line {function.lineno}: {name} raises {exception}"
        for argument in without_units(function, of_class):
            yield f"line {function.lineno}: {name}, unit of {argument}"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ClassDef) and is_public(node.name):
            for field in fields_without_units(node):
                yield f"line {node.lineno}: {node.name}, unit of {field}"


def test_exceptions_and_units_are_stated() -> None:
    found = [f"{path}, {line}" for path, module in modules().items() for line in missing(module)]
    assert not found, "\n".join(found)


def test_sections_are_numpys() -> None:
    found = [
        f"{path}, line {getattr(node, 'lineno', 1)}: {what}"
        for path, module in modules().items()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Module | ast.ClassDef | Function)
        for what in other_styles(ast.get_docstring(node) or "")
    ]
    assert not found, "\n".join(found)


def test_the_rules_see_the_package() -> None:
    """Neither rule is kept by seeing nothing: both meet hundreds of functions and of floats."""
    public = [
        (module, name)
        for module in modules().values()
        for name in module.functions
        if is_public(name)
    ]
    assert len(public) > 600
    assert sum(bool(module.raised(name)) for module, name in public) > 80


def module_of(source: str) -> Module:
    tree = ast.parse(source)
    return Module(tree, dict(ancestry(tree)))


RAISING = {
    "its own": "def f():\n    raise ValueError('no')",
    "of a class": "def f():\n    raise KeyError",
    "of a module": "def f():\n    raise errors.InputError([])",
    "in a nested helper": "def f():\n    def inner():\n        raise KeyError\n    return inner()",
    "in a private helper": "def f():\n    return _g()\ndef _g():\n    raise OSError",
    "two helpers down": "def f():\n    _g()\ndef _g():\n    _h()\ndef _h():\n    raise OSError",
    "made by a helper": "def f():\n    raise _made()\ndef _made() -> InputError: ...",
    "in a private method": (
        "class A:\n    def f(self):\n        self._g()\n    def _g(self):\n        raise OSError"
    ),
    "in a property": "class A:\n    @property\n    def f(self):\n        raise OSError",
    "in __init__": "class A:\n    def __init__(self):\n        raise OSError",
    "in a handler": "def f():\n    try:\n        g()\n    except OSError:\n        raise KeyError",
    "past a handler": "def f():\n    try:\n        raise OSError\n    except KeyError:\n        1",
    "let go again": (
        "def f():\n    try:\n        raise KeyError\n    except KeyError:\n        raise"
    ),
    "held by a variable": ("def f():\n    fault: ValueError | None = None\n    raise fault"),
    "told by isinstance": (
        "def f():\n    found = g()\n    if isinstance(found, ValueError):\n        raise found"
    ),
    "in prose only": 'def f():\n    """Do; ValueError if it cannot."""\n    raise ValueError',
    "another in the section": (
        'def f():\n    """Do.\n\n    Raises\n    ------\n    KeyError\n        if not\n    """\n'
        "    raise ValueError"
    ),
    "told of the class": (
        'class A:\n    """A.\n\n    Raises\n    ------\n    OSError\n        if not\n    """\n'
        "    def f(self):\n        raise OSError"
    ),
    "in another section": (
        'def f():\n    """Do.\n\n    Notes\n    -----\n    ValueError\n        if not\n    """\n'
        "    raise ValueError"
    ),
}


@pytest.mark.parametrize("source", RAISING.values(), ids=RAISING)
def test_every_unstated_exception_is_noticed(source: str) -> None:
    module = module_of(source)
    assert [name for name in module.functions if is_public(name)]
    assert any("raises" in line for line in missing(module))


STATED = '"""Do.\n\n    Raises\n    ------\n    ValueError, OSError\n        if not\n    """\n'


@pytest.mark.parametrize(
    "source",
    [
        f"def f():\n    {STATED}    raise ValueError",
        f"def f():\n    {STATED}    _g()\ndef _g():\n    raise OSError",
        f"class A:\n    {STATED}    def __init__(self):\n        raise ValueError",
        "def f():\n    try:\n        raise KeyError\n    except LookupError:\n        pass",
        "def f():\n    try:\n        _g()\n    except (A, OSError):\n        pass\n"
        "def _g():\n    raise FileNotFoundError",
        "class Own(ValueError): ...\ndef f():\n    try:\n        raise Own\n"
        "    except ValueError:\n        pass",
        "def f():\n    try:\n        g()\n    except OSError as error:\n        raise",
        "def _f():\n    raise ValueError",
        "class _A:\n    def f(self):\n        raise ValueError",
        "def f():\n    raise typer.Exit(1)",
    ],
)
def test_stated_and_caught_exceptions_are_left_alone(source: str) -> None:
    assert list(missing(module_of(source))) == []


@pytest.mark.parametrize(
    "source",
    [
        "def f(width: float) -> None: ...",
        "def f(width: float | None = None) -> None: ...",
        "def f(*widths: float) -> None: ...",
        "def f(*, width: FloatArray) -> None: ...",
        "def f(width: Sequence[tuple[float, float]]) -> None: ...",
        'def f(width: "NDArray[np.float64]") -> None: ...',
        "def f(m: float) -> None: ...",
        "def width() -> float: ...",
        "def width() -> tuple[FloatArray, FloatArray]: ...",
        "class A:\n    def __init__(self, width: float) -> None: ...",
        "class A:\n    @property\n    def width(self) -> float: ...",
        'def f(width: float) -> None:\n    """Do 3 mm of something with the width."""',
        'def f(width: float, depth_mm: float) -> None:\n    """Do; ``depth_mm`` is in mm."""',
        'def f(a: float) -> None:\n    """Do; 5 mm and ``a`` go. The rest is in mm."""',
        'def f(a: float) -> None:\n    """Do a thing.\n\n    Parameters\n    ----------\n'
        '    a\n        its size\n    b\n        in mm\n    """',
        'def f() -> float:\n    """Return the mean.\n\n    Raises\n    ------\n    ValueError\n'
        '        below 3 mm\n    """',
        'def f() -> float:\n    """Return what m and s are for, as N is."""',
        'def f(a: Annotated[float, Option(help="How wide.")]) -> None: ...',
        "@dataclass\nclass A:\n    width: float",
        "@dataclass(frozen=True)\nclass A:\n    width: FloatArray | None = None",
        '@dataclass\nclass A:\n    """A width."""\n\n    width: float\n    """Of 3."""',
        '@dataclass\nclass A:\n    """``a`` in mm."""\n\n    a: float\n    b: float',
    ],
)
def test_every_missing_unit_is_noticed(source: str) -> None:
    assert any("unit of" in line for line in missing(module_of(source)))


@pytest.mark.parametrize(
    "source",
    [
        "def f(width_mm: float, drop_pa: FloatArray, v_m_s: float, tilt_deg: float) -> None: ...",
        "def width_mm() -> float: ...",
        "def f(re: float, overlap_ratio: FloatArray) -> None: ...",
        "def f(count: int, name: str) -> list[int]: ...",
        "def f(curve: Callable[[float], float]) -> None: ...",
        "def f() -> dict[str, float]: ...",
        "def _f(width: float) -> float: ...",
        'def f(width: float) -> float:\n    """Return the area (mm2) of ``width`` in mm."""',
        'def f(z: float) -> None:\n    """Do it at depth z (mm)."""',
        'def f(a: float, b: float) -> None:\n    """Do.\n\n    Parameters\n    ----------\n'
        '    a, b\n        speeds, m/s\n    """',
        'def f(a: float) -> float:\n    """Do.\n\n    Parameters\n    ----------\n    a\n'
        "        share of it\n\n    Returns\n    -------\n    float\n        force, N\n"
        '    """',
        'def f(a: float) -> None:\n    """Do with ``a`` (1)."""',
        'def f(a: Annotated[float, Option(help="How wide, mm.")]) -> None: ...',
        "@dataclass\nclass A:\n    width_mm: float\n    count: int",
        "class A(Protocol):\n    width: float",
        "@dataclass\nclass _A:\n    width: float",
        "@dataclass\nclass A:\n    _width: float",
        '@dataclass\nclass A:\n    width: float\n    """Across the flats, mm."""',
        '@dataclass\nclass A:\n    """``width`` in mm."""\n\n    width: float',
        '@dataclass\nclass A:\n    width: Annotated[float, Fact("width", UNIT)]',
        'class A:\n    """A.\n\n    Parameters\n    ----------\n    a\n        width, mm\n    """\n'
        "    def __init__(self, a: float) -> None: ...",
    ],
)
def test_stated_units_are_left_alone(source: str) -> None:
    assert list(missing(module_of(source))) == []


@pytest.mark.parametrize(
    "text",
    [
        "Do.\n\n:param width: in mm",
        "Do.\n\n:returns: the width",
        "Do.\n\n:raises ValueError: if not",
        "Do.\n\nArgs:\n    width: in mm",
        "Do.\n\nReturns:\n    the width",
        "Do.\n\nRaises:\n    ValueError: if not",
        "Do.\n\n@param width in mm",
        "Do. Raises :class:`InputError` if it cannot.",
        "Do; raises ``KeyError`` for one unknown.",
        "Do; raises KeyError for one unknown.",
        "Do. Throws a ValueError if it cannot.",
        "Do.\n\nRaise\n-----\nValueError\n    if not",
        "Do.\n\nReturns\n---------\nfloat\n    width",
    ],
)
def test_other_styles_are_noticed(text: str) -> None:
    assert other_styles(text)


@pytest.mark.parametrize(
    "text",
    [
        "Do what raises the water by 3 mm: more of it.",
        "Do.\n\nParameters\n----------\nwidth\n    in mm\n\nRaises\n------\nValueError\n    if not",
        "See :class:`InputError` and :func:`f`.",
    ],
)
def test_plain_text_and_numpys_sections_are_left_alone(text: str) -> None:
    assert other_styles(text) == []
