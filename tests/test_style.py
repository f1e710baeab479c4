"""Style, types and layers: the rules of DEVELOPERS.md."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.helpers.writing import writes

ROOT = Path(__file__).parents[1]
LAYERS = [
    "base",
    "catalog",
    "spec",
    "geometry",
    "mesh",
    "evidence",
    "files",
    "release",
    "enclosure",
    "proposing",
    "front",
    "tools",
]


@pytest.mark.parametrize(
    "command",
    [["ruff", "check", "."], ["ruff", "format", "--check", "."], ["mypy"]],
    ids=["ruff", "format", "mypy"],
)
def test_clean(command: list[str]) -> None:
    result = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True
    )
    assert result.returncode == 0, result.stdout + result.stderr


def rank(module: str) -> int:
    """Return how high a module stands: the package's front door 0, then the layers."""
    parts = module.split(".")
    return 0 if len(parts) == 1 else LAYERS.index(parts[1])


def imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
        elif isinstance(node, ast.Import):
            found += [a.name for a in node.names]
    return [m for m in found if m.split(".")[0] == "vent_family"]


def test_the_rules_below_see_the_tree() -> None:
    """Every layer has modules and the modules import each other: no rule is kept by seeing none."""
    modules = sorted((ROOT / "vent_family").rglob("*.py"))
    seen = {path.relative_to(ROOT).parts[1] for path in modules}
    assert set(LAYERS) <= seen
    assert sum(len(imports(path)) for path in modules) > 300


def test_no_layer_imports_a_higher_one() -> None:
    for path in sorted((ROOT / "vent_family").rglob("*.py")):
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        if module.endswith("__init__") and len(path.parts) - len(ROOT.parts) == 2:
            continue  # the package's front door opens the plugin, lazily
        for other in imports(path):
            assert rank(other) <= rank(module), f"{module} imports {other}"


def import_graph(sources: Mapping[str, str]) -> dict[str, set[str]]:
    """Return which modules each module imports, wherever in the module the import stands.

    ``from package import name`` asks for the module of that name if there is one. What is imported
    for the eyes of the type checker alone never runs and does not count.
    """
    graph: dict[str, set[str]] = {}
    for module, source in sources.items():
        asked = graph.setdefault(module, set())
        tree = ast.parse(source)
        unseen = {
            part
            for node in ast.walk(tree)
            if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
            for statement in node.body
            for part in ast.walk(statement)
        }
        for node in ast.walk(tree):
            if node in unseen:
                continue
            if isinstance(node, ast.Import):
                asked.update(alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{module} has a relative import"
                for alias in node.names:
                    inner = f"{node.module}.{alias.name}"
                    asked.add(inner if inner in sources else str(node.module))
        asked.intersection_update(set(sources) - {module})
    return graph


def import_cycle(graph: Mapping[str, set[str]]) -> list[str]:
    """Return modules that import each other in a ring, the first again last; empty if none do."""
    done: set[str] = set()

    def walk(module: str, way: list[str]) -> list[str]:
        if module in way:
            return [*way[way.index(module) :], module]
        if module in done:
            return []
        for other in sorted(graph[module]):
            ring = walk(other, [*way, module])
            if ring:
                return ring
        done.add(module)
        return []

    return next((ring for module in sorted(graph) if (ring := walk(module, []))), [])


def test_no_modules_import_each_other() -> None:
    sources = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(
            ".__init__"
        ): path.read_text(encoding="utf-8")
        for path in sorted((ROOT / "vent_family").rglob("*.py"))
    }
    graph = import_graph(sources)
    assert "vent_family.spec.stack" in graph["vent_family.spec.section"]
    assert " -> ".join(import_cycle(graph)) == ""


def test_rings_of_imports_are_noticed() -> None:
    sources = {
        "p": "",
        "p.a": "from p import b\nimport sys",
        "p.b": "def f():\n    from p.c import x\n",
        "p.c": "if TYPE_CHECKING:\n    import p.b\nelse:\n    import p.a\nfrom p.d import y",
        "p.d": "import p",
    }
    assert import_cycle(import_graph(sources)) == ["p.a", "p.b", "p.c", "p.a"]
    for harmless in ("from p import d", "if typing.TYPE_CHECKING:\n    import p.a"):
        assert import_cycle(import_graph(sources | {"p.c": harmless})) == []


QUIET = ("catalog", "spec", "geometry", "mesh", "evidence")
"""Layers that only compute: what they find, others write. A cache is kept by ``base/cache.py``."""


def test_checks_and_geometry_do_not_print_or_open_files() -> None:
    for layer in QUIET:
        for path in (ROOT / "vent_family" / layer).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                    assert node.func.id != "print", path
                    assert node.func.id != "open" or layer == "catalog", path


def hands_to_the_disk(source: str) -> list[str]:
    """Return a line for every use a module makes of the helpers that write."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom | ast.Import):
            names = [f"{getattr(node, 'module', '')}.{alias.name}" for alias in node.names]
            if any("vent_family.base.atomic" in name for name in names):
                found.append(f"line {node.lineno}: import")
        elif isinstance(node, ast.Attribute) and node.attr == "atomic":
            found.append(f"line {node.lineno}: attribute")
    return found


def test_layers_that_compute_write_nothing() -> None:
    """Neither through the helpers nor, by the tests below, past them."""
    seen = 0
    for layer in QUIET:
        for path in sorted((ROOT / "vent_family" / layer).rglob("*.py")):
            assert hands_to_the_disk(path.read_text(encoding="utf-8")) == [], path
            seen += 1
    assert seen > 100


@pytest.mark.parametrize(
    "statement",
    [
        "from vent_family.base.atomic import write_bytes",
        "from vent_family.base import atomic",
        "import vent_family.base.atomic",
        "import vent_family.base.atomic as files",
        "def f():\n    from vent_family.base.atomic import atomic_path as a",
        "import vent_family.base\nvent_family.base.atomic.write_bytes(path, data)",
    ],
)
def test_every_way_to_the_helpers_is_noticed(statement: str) -> None:
    assert hands_to_the_disk(statement)
    assert hands_to_the_disk("from vent_family.base.cache import ArrayCache") == []


@pytest.mark.parametrize(
    "statement",
    [
        'open(path, "w").write(text)',
        'open(path, mode="a")',
        'open(path, "r+b")',
        "open(path, mode)",
        'io.open(path, "xb")',
        'path.open("w", encoding="utf-8")',
        'path.open(mode="wb")',
        "path.open(mode)",
        'gzip.open(path, "wt")',
        'zipfile.ZipFile(path, "w")',
        "os.open(path, os.O_WRONLY)",
        "path.write_text(text)",
        "path.write_bytes(data)",
        "path.touch()",
        "figure.savefig(path)",
        "figure.savefig(fname=path)",
        'plt.savefig("a.png")',
        "np.save(path, array)",
        "np.savez(path, a=array)",
        "np.savez_compressed(folder / name, a=array)",
        "np.savetxt(path, array)",
        "array.tofile(path)",
        "frame.to_csv(path)",
        "frame.to_csv(path_or_buf=path)",
        "image.save(path)",
        "shutil.copy(a, b)",
        "shutil.copy2(a, b)",
        "shutil.copytree(a, b)",
        "shutil.move(a, b)",
        "os.rename(a, b)",
        "os.replace(a, b)",
        "a.rename(b)",
        "a.replace(b)",
        "tempfile.mkstemp()",
        "png.SetFileName(str(path))",
        "model_writer.WriteToFile(str(path))",
        "step_writer.Write(str(path))",
        "StlAPI.Write_s(shape, str(path))",
        "cq.exporters.export(shape, str(path))",
        "shape.exportStep(str(path))",
        # A name that the helper has bound elsewhere is no excuse.
        "def f():\n    with atomic_path(p) as path:\n        pass\nnp.save(path, array)",
        "def f():\n    with atomic_path(p) as q:\n        def g(q):\n            np.save(q, a)",
        "with staged_folder(target) as folder:\n    np.save(folder, array)",
    ],
)
def test_every_way_of_writing_is_noticed(statement: str) -> None:
    assert writes(statement)


@pytest.mark.parametrize(
    "statement",
    [
        "open(path)",
        'open(path, "rb")',
        'path.open("rb")',
        "path.open()",
        'path.open(encoding="utf-8")',
        "Image.open(path)",
        'text.replace("a", "b")',
        "replace(spec, bank_count=2)",
        "now.replace(microsecond=0)",
        "frame.to_csv(index=False)",
        "frame.rename(columns=names)",
        "writer.Write()",
        "inside.Perform(gp_Pnt(x, y, z), tolerance)",
        "shot.Perform(gp_Lin(start, ahead), 0.0, far)",
        "write_bytes(path, data)",
        "with atomic_path(path) as aside:\n    np.savez(aside, a=array)",
        "with atomic_file(path) as file:\n    figure.savefig(file)",
        "def f():\n    stream = io.BytesIO()\n    figure.savefig(stream)",
    ],
)
def test_reading_and_the_helpers_are_left_alone(statement: str) -> None:
    assert writes(statement) == []


def test_only_the_atomic_helpers_write() -> None:
    for path in sorted((ROOT / "vent_family").rglob("*.py")):
        if path.relative_to(ROOT).as_posix() != "vent_family/base/atomic.py":
            assert writes(path.read_text(encoding="utf-8")) == [], path


def test_writers_of_formats_know_nothing_of_vents() -> None:
    for path in sorted((ROOT / "vent_family" / "files").rglob("*.py")):
        for other in imports(path):
            assert other.split(".")[1] not in ("catalog", "spec", "evidence"), f"{path}: {other}"


def public_names(sources: Mapping[str, str]) -> dict[str, list[str]]:
    """Return where each public class and function that stands free in a module is defined."""
    found: dict[str, list[str]] = {}
    for module, source in sources.items():
        for node in ast.parse(source).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
                found.setdefault(node.name, []).append(module)
    return found


TWICE = {
    "main": "where a tool or the command line starts",
    "show": "the command of that name; and the module of another command shows its own answer",
    "cut": "a text to a length; a solid by a tool",
}
"""Functions of one name that nobody takes for each other, and why. No classes."""


def test_no_two_public_classes_or_functions_share_a_name() -> None:
    sources = {
        path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted((ROOT / "vent_family").rglob("*.py"))
    }
    names = public_names(sources)
    assert len(names) > 500
    twice = {name: modules for name, modules in names.items() if len(modules) > 1}
    assert {name: modules for name, modules in twice.items() if name not in TWICE} == {}
    assert set(TWICE) == set(twice), "an exception that none needs any more"
    assert not [name for name in TWICE if name[0].isupper()]


def test_a_shared_name_is_noticed() -> None:
    sources = {"a": "class A: ...\ndef f(): ...\nclass _P: ...", "b": "class A: ...\nclass _P: ..."}
    assert public_names(sources) == {"A": ["a", "b"], "f": ["a"]}
