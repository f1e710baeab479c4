"""Where a program writes to the disk, found in its syntax tree.

A call that writes is accepted only if its target was handed out by the helpers that write whole
files, or lies in memory: the name is bound, in the same function, by ``with atomic_file(...) as``,
``with atomic_path(...) as`` or to ``io.BytesIO()`` or ``io.StringIO()``.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator

HELPERS = {"atomic_file", "atomic_path"}
IN_MEMORY = {"BytesIO", "StringIO"}
SCOPES = (ast.Module, ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)

# Open a file: writing or not depends on the mode.
OPENERS = {"open", "fdopen", "ZipFile", "TarFile", "GzipFile", "NamedTemporaryFile"}
# Their open() takes the path first, unlike a path's own method.
OPENING_MODULES = {"io", "gzip", "bz2", "lzma", "zipfile", "tarfile", "codecs", "Image", "tempfile"}
# Write always, whatever the arguments.
WRITERS = {
    "write_text", "touch", "symlink_to", "hardlink_to", "renames", "copy2", "copyfile",
    "copyfileobj", "copytree", "mkstemp", "mkdtemp", "TemporaryDirectory", "tofile", "savetxt",
    "SetFileName", "WriteToFile", "WriteFile",
}  # fmt: skip
# Write to what their first argument, or a keyword, names.
TARGETED = {
    "savefig", "imsave", "imwrite", "save", "savez", "savez_compressed", "savemat", "export",
    "exportStl", "exportStep", "exportBrep", "exportBin", "exportDXF", "exportSVG", "to_csv",
    "to_json", "to_excel", "to_parquet", "to_pickle", "to_html", "to_markdown", "to_latex",
    "to_feather", "to_hdf", "Write", "Write_s", "Perform",
}  # fmt: skip
TARGET_KEYWORDS = {"path", "path_or_buf", "path_or_buffer", "fname", "file", "fp", "buf"}
# On a module write always; on anything else these are common names of harmless methods.
OF_MODULES = {
    "shutil": {"copy", "move", "make_archive"},
    "os": {"rename", "replace", "open", "link", "symlink", "truncate", "mkfifo"},
}


def writes(source: str) -> list[str]:
    """Return a line for every call that writes other than through the helpers."""
    tree = ast.parse(source)
    return [f"line {call.lineno}: {why}" for call, why in _found(tree, set())]


def _found(node: ast.AST, safe: set[str]) -> Iterator[tuple[ast.Call, str]]:
    if isinstance(node, SCOPES):
        own = node.args if not isinstance(node, ast.Module) else ast.arguments([], [], None, [], [])
        given = {argument.arg for argument in (*own.posonlyargs, *own.args, *own.kwonlyargs)}
        safe = (safe - given) | set(_bound_by_helpers(node))
    if isinstance(node, ast.Call):
        why = _fault(node, safe)
        if why:
            yield node, why
    for child in ast.iter_child_nodes(node):
        yield from _found(child, safe)


def _bound_by_helpers(node: ast.AST) -> Iterator[str]:
    """Yield the names bound in this very scope to what may be written to."""
    if isinstance(node, ast.withitem) and isinstance(node.optional_vars, ast.Name):
        if _name(node.context_expr) in HELPERS:
            yield node.optional_vars.id
    elif isinstance(node, ast.Assign) and _name(node.value) in IN_MEMORY:
        yield from (target.id for target in node.targets if isinstance(target, ast.Name))
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, SCOPES):
            yield from _bound_by_helpers(child)


def _name(call: ast.AST) -> str:
    if not isinstance(call, ast.Call):
        return ""
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def _fault(call: ast.Call, safe: set[str]) -> str:
    name = _name(call)
    of = call.func.value if isinstance(call.func, ast.Attribute) else None
    module = of.id if isinstance(of, ast.Name) else ""
    if name in WRITERS or name in OF_MODULES.get(module, ()):
        return name
    if name == "write_bytes":
        # The helper is a plain function; the method of a path is not whole.
        return name if of is not None else ""
    if name in ("rename", "replace") and of is not None:
        # One bare argument: a path's method. Text takes two, data classes and times take keywords.
        return name if len(call.args) == 1 and not call.keywords else ""
    if name in OPENERS:
        return "" if _reads_only(call, module, is_method=of is not None) else name
    if name == "Perform" and [_name(target) for target in call.args[:1]] in (
        ["gp_Pnt"],
        ["gp_Lin"],
    ):
        return ""  # a point is looked up, not a file's name
    if name in TARGETED:
        targets = call.args[:1] + [k.value for k in call.keywords if k.arg in TARGET_KEYWORDS]
        if any(not (isinstance(t, ast.Name) and t.id in safe) for t in targets):
            return name
    return ""


def _reads_only(call: ast.Call, module: str, *, is_method: bool) -> bool:
    """Tell whether a call opens for reading only; a mode that is computed counts as writing."""
    # path.open(mode), but open(path, mode), io.open(path, mode), Image.open(path).
    modes = call.args[0 if is_method and module not in OPENING_MODULES else 1 :][:1]
    modes += [k.value for k in call.keywords if k.arg == "mode"]
    return all(
        isinstance(m, ast.Constant) and isinstance(m.value, str) and not set(m.value) & set("wax+")
        for m in modes
    )
