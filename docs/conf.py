"""How Sphinx builds the documentation: ``sphinx-build -W -b html docs build/site``.

Pages are Markdown that reads well as it stands; what the program knows better than any page is put
in when the site is built (``vent_family.tools.made_pages``).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import vent_family
from vent_family.tools.made_pages import MARK, page_made, schemas

project = "Vent inserts"
author = "the project's owner"
copyright = "all rights reserved"
version = release = vent_family.__version__

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
exclude_patterns = ["_build", "pictures"]
source_suffix = {".md": "markdown"}
myst_enable_extensions = ["colon_fence"]
myst_heading_anchors = 3
language = "en"
smartquotes = False

autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_typehints_format = "short"
python_use_unqualified_type_names = True
python_maximum_signature_line_length = 80
napoleon_google_docstring = False
napoleon_use_rtype = False
trim_doctest_flags = True

html_theme = "furo"
html_title = "Vent inserts for outdoor cabinets"
html_static_path = ["static"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
html_theme_options = {"footer_icons": []}
pygments_style = "friendly"

# A face's two calls exist once a catalogue is registered; a catalogue of one row will do.
vent_family.register(
    vent_family.Parts.from_text("part_number,family,size,status\nHV-N32,round,M32x1.5,draft\n")
)


def _fill(app: Any, name: str, source: list[str]) -> None:
    source[0] = page_made(source[0])


def _changing(app: Any, env: Any, *changes: Any) -> list[str]:
    """Name the pages that the program fills: they may be out of date though their file is not."""
    paths = {name: Path(env.doc2path(name)) for name in sorted(env.found_docs)}
    return [n for n, path in paths.items() if MARK.search(path.read_text(encoding="utf-8"))]


def _write_schemas(app: Any, failed: Exception | None) -> None:
    if failed is None and app.builder.format == "html":
        folder = Path(app.outdir) / "schemas"
        folder.mkdir(exist_ok=True)
        for name, schema in schemas().items():
            text = json.dumps(schema, indent=2, ensure_ascii=False)
            (folder / f"{name}.schema.json").write_text(text + "\n", encoding="utf-8")


def _offered(app: Any, env: Any, node: Any, shown: Any) -> Any:
    """Lead to where a name stands that is known by the package's name, not by its module's."""
    home, _, rest = str(node.get("reftarget", "")).partition(".")
    words = rest.split(".")
    for start in range(len(words)):
        if home == "vent_family" and words[start] in vent_family.__all__:
            target = ".".join([home, *words[start:]])
            given = (env, node["refdoc"], app.builder, node["reftype"], target, node, shown)
            return env.get_domain("py").resolve_xref(*given)
    return None


def setup(app: Any) -> dict[str, bool]:
    """Tell Sphinx what is done while it builds."""
    app.connect("env-get-outdated", _changing)
    app.connect("source-read", _fill)
    app.connect("missing-reference", _offered)
    app.connect("build-finished", _write_schemas)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
