"""The documentation: built with warnings as errors, its links followed, opened from the disk."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
from playwright.sync_api import Browser
from typer.testing import CliRunner

import vent_family
from tests.helpers.browser import launching
from tests.helpers.pages import PageText, broken_links, outside
from vent_family.base.codes import CODES
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.reference import OWN_COLUMNS
from vent_family.front.answers import schema_names
from vent_family.front.cli import common
from vent_family.front.cli.app import app
from vent_family.release.cautions import CAUTION
from vent_family.tools.made_pages import MADE, MARK

ROOT = Path(__file__).parents[2]
OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]+")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the built site; not one warning was told."""
    out = tmp_path_factory.mktemp("site")
    command = [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "-b", "html"]
    done = subprocess.run(
        [*command, "-d", str(out / "state"), "docs", str(out / "html")],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return out / "html"


@pytest.fixture(scope="module")
def pages(site: Path) -> dict[Path, PageText]:
    found = {path.resolve(): PageText(path) for path in sorted(site.rglob("*.html"))}
    assert len(found) > 10
    return found


def page(site: Path, name: str) -> PageText:
    return PageText(site / f"{name}.html")


def test_every_link_leads_to_a_file_and_a_place_in_it(pages: dict[Path, PageText]) -> None:
    assert broken_links(pages) == []
    assert sum(len(p.links) for p in pages.values()) > 300


def test_no_page_asks_another_machine_for_anything(site: Path, pages: dict[Path, PageText]) -> None:
    assert outside(pages) == []
    for style in site.rglob("*.css"):
        text = style.read_text(encoding="utf-8")
        assert not re.search(r"(?:url\(|@import)\s*[\"']?(?:https?:)?//", text), style


def test_broken_links_and_requests_elsewhere_are_noticed(tmp_path: Path) -> None:
    (tmp_path / "b.html").write_text('<p id="there">')
    bad = ["c.html", "b.html#gone", "#nowhere"]
    links = "".join(f'<a href="{where}">' for where in [*bad, "b.html#there", "https://x.org"])
    asks = '<script src="//x.org/a.js"></script><link href="https://x.org/a.css">'
    (tmp_path / "a.html").write_text(links + asks)
    found = {path: PageText(path) for path in tmp_path.iterdir()}
    assert broken_links(found) == [
        *(f"a.html: {where}" for where in bad),
        "a.html: //x.org/a.js",
    ]
    assert outside(found) == ["a.html: //x.org/a.js", "a.html: https://x.org/a.css"]


def test_every_public_name_stands_on_the_python_page(site: Path) -> None:
    ids = page(site, "reference/python").ids
    names = set(vent_family.__all__) - {"__version__"}
    assert {f"vent_family.{name}" for name in names} <= ids
    public = {n for n in vars(vent_family.Parts) if not n.startswith("_")}
    assert len(public) > 10
    assert {f"vent_family.Parts.{name}" for name in public} <= ids
    assert {"cadquery.Workplane.placeVent", "cadquery.Workplane.cutVentOpening"} <= ids


def test_docstrings_show_parameters_units_exceptions_and_examples(site: Path) -> None:
    """Of one method: each section of its docstring is one of the page, not raw text."""
    text = (site / "reference" / "python.html").read_text(encoding="utf-8")
    start = text.index('id="vent_family.Parts.water"')
    shown = text[start : text.index('id="vent_family.Parts.water_sensitivity"')]
    for heading in ("Parameters", "Raises"):
        assert f">{heading}<" in shown, heading
    assert "<strong>tilt_deg</strong>" in shown
    assert "lean of the mounting, degrees, positive where the face looks upwards" in shown
    assert "FloatingPointError" in shown
    assert "highlight-pycon" in shown or "doctest" in shown
    # A function is found where it is offered, though docstrings name the module it is at home in.
    assert 'href="#vent_family.fitted"' in text
    assert "-------" not in PageText(site / "reference" / "python.html").text


def test_the_table_of_columns_is_the_models(site: Path) -> None:
    rows = {row[0]: row[1:] for row in page(site, "reference/columns").rows if len(row) == 5}
    assert set(rows) == {*COLUMNS, "Column"}
    assert OWN_COLUMNS in page(site, "reference/columns").text
    for name, column in COLUMNS.items():
        unit, _, allowed, meaning = rows[name]
        assert unit == column.unit
        assert allowed == column.allowed()
        assert meaning == column.meaning + (" (required)" if column.required else "")


def test_exit_codes_are_those_of_the_commands(site: Path) -> None:
    rows = dict(row for row in page(site, "reference/exit-codes").rows if row[0].isdigit())
    named = {
        value
        for name, value in vars(common).items()
        if name.startswith("EXIT_") and isinstance(value, int)
    }
    assert rows == {str(code): common.EXIT_CODES[code] for code in named}


def test_every_problem_code_is_listed(site: Path) -> None:
    rows = dict(row for row in page(site, "reference/problem-codes").rows if len(row) == 2)
    assert rows == {"Code": "Meaning"} | CODES


def test_commands_and_options_are_those_of_the_help(site: Path) -> None:
    """The help is asked for on the command line, command by command."""
    run = CliRunner().invoke
    listed = re.findall(r"^│ ([a-z][a-z-]+) {2,}", run(app, ["--help"]).output, re.MULTILINE)
    assert len(listed) > 10
    shown = page(site, "reference/commands")
    text = (site / "reference" / "commands.html").read_text(encoding="utf-8")
    assert set(listed) <= shown.ids
    places = [text.index(f'<section id="{name}">') for name in listed]
    assert places == sorted(places)
    for name, start, end in zip(listed, places, [*places[1:], len(text)], strict=True):
        told = run(app, [name, "--help"], env={"COLUMNS": "200", "TERM": "dumb"}).output
        missing = set(OPTION.findall(told)) - {"--help"} - set(OPTION.findall(text[start:end]))
        assert not missing, (name, missing)


def test_schemas_are_those_that_the_command_prints(site: Path) -> None:
    files = {p.name.removesuffix(".schema.json"): p for p in (site / "schemas").iterdir()}
    assert sorted(files) == sorted(schema_names())
    for path in files.values():
        jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text(encoding="utf-8")))
    printed = CliRunner().invoke(app, ["schema", "check"]).output
    assert json.loads(printed) == json.loads(files["check"].read_text(encoding="utf-8"))
    rows = dict(row for row in page(site, "reference/schemas").rows if len(row) == 2)
    assert "; g; number" in rows["printed_mass_g"]


def test_all_that_the_program_makes_is_asked_for_and_put_in(
    pages: dict[Path, PageText], site: Path
) -> None:
    asked = {
        name for page in (ROOT / "docs").rglob("*.md") for name in MARK.findall(page.read_text())
    }
    assert asked == set(MADE)
    for path in pages:
        assert "<!-- made" not in path.read_text(encoding="utf-8"), path
    assert {row[0] for row in page(site, "reference/licences").rows} > {
        "cadquery",
        "three.js 0.187.0",
    }


def test_the_first_page_carries_the_caution(site: Path) -> None:
    assert CAUTION in page(site, "index").text


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with launching() as launch:
        started = launch()
        yield started
        started.close()


def test_pages_open_from_the_disk_and_fit_desk_and_phone(site: Path, browser: Browser) -> None:
    context = browser.new_context()
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    opened = context.new_page()
    for path in sorted(site.rglob("*.html")):
        opened.goto(path.as_uri())
        for width in (1200, 390):
            opened.set_viewport_size({"width": width, "height": 800})
            wide = opened.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, f"{path.name} is {wide} wide"
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    context.close()


def test_the_trades_other_words_are_found(site: Path, browser: Browser) -> None:
    opened = browser.new_page()
    for word in ("louver", "knock-out", "weep", "gland"):
        opened.goto((site / "search.html").as_uri() + f"?q={word}")
        # Results come one after the other: those of other pages may come first.
        opened.wait_for_selector('#search-results li a[href*="words.html"]', timeout=20_000)
    opened.close()
