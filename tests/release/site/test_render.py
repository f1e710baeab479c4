"""Pages written from invented records: what they say, what they escape, what stands in them."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from tests.release.site.libraries import RECORD, altered, exposure, library, part
from vent_family.catalog.names import FILE_ENDINGS
from vent_family.release.record import CAUTION
from vent_family.release.site.known import KNOWN
from vent_family.release.site.library import SiteFile
from vent_family.release.site.render import page_name, render_site

PACKAGE = Path(__file__).parents[3] / "vent_family"
SITE = PACKAGE / "release" / "site"
VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}


class Page(HTMLParser):
    """A page taken apart; elements that are not closed in order, or closed twice, are refused."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.cells: dict[str, list[str]] = {}
        self.feed(path.read_text(encoding="utf-8"))
        self.close()
        assert self.open == [], path

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), (tag, names)
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("script", "style"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def of(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.elements if name == tag]


def pages(folder: Path) -> dict[str, Page]:
    return {path.name: Page(path) for path in sorted(folder.glob("*.html"))}


def test_pages_say_what_the_record_says_rounded_as_in_the_report(tmp_path: Path) -> None:
    render_site(library(part()), tmp_path)
    index, told = Page(tmp_path / "index.html"), Page(tmp_path / "part-V-1.html")
    for page in (index, told):
        for words in (
            "V-1",
            "Feeder box",
            "80 × 60 mm",
            "2094 mm²",
            "(52.8 % of core)",
            "17 (16 to 18.2) m³/h",
            "driving rain: marginal",
            "34.8 g",
            "USD 2.68",
            CAUTION,
        ):
            assert words in page.text, words
    for words in (
        "102 × 72 × 25.41 mm",
        "8.77 m³/h",
        "rain test to EN 13030",
        "0.10 to 1.1 mL pass; air 16.4 m³/h",
        "Upside down it floods; never mount it so.",
        "USD 17.51",
        "1.8 h alone on the plate",
        "-45.5 0 4.5",
        "price each: 2.68, was 2.50 USD",
        "revision A, issue 1 2026-01-05 first release",
    ):
        assert words in told.text, words


def test_catalogue_text_is_shown_as_it_is_and_runs_nowhere(tmp_path: Path) -> None:
    evil = """<script>alert("1")</script> 'a' & <b>b</b> </td> --> {{ 7*7 }} </script>"""
    record = altered(RECORD, identity__description=evil, material__name='"><img src=x>')
    bad = part("V-1", record, standing=f"do not fit: {evil}", names=("-model.js", "-front.png"))
    render_site(
        replace(library(bad, archive=(replace(bad, status="withdrawn"),)), catalogue=evil), tmp_path
    )
    found = pages(tmp_path)
    assert set(found) == {
        "index.html",
        "compare.html",
        "archive.html",
        "part-V-1.html",
        "old-V-1@B.2.html",
    }
    plain = " ".join(evil.split())
    for name, page in found.items():
        assert plain in page.text, name
        assert page.of("b") == []
        for script in page.of("script"):
            assert script.get("src"), name
        assert {image["src"] for image in page.of("img")} <= {f"{bad.href}V-1-front.png"}
    attributes = [row["data-words"] for row in found["index.html"].of("tr") if "data-part" in row]
    assert plain in str(attributes[0])
    script = (tmp_path / "compared.js").read_text(encoding="ascii")
    figures = json.loads(script.removeprefix("self.ventFigures=").removesuffix(";\n"))
    assert evil in figures["parts"]["V-1"]["words"]


def test_a_part_not_to_be_fitted_says_so_first(tmp_path: Path) -> None:
    why = "no longer predicted to hold, do not fit: 12 mL pass"
    render_site(library(part(standing=why), part("V-2")), tmp_path)
    text = Page(tmp_path / "part-V-1.html").text
    assert text.index("Do not fit") < text.index(why) < text.index("Key figures")
    assert text.index(why) < text.index(RECORD["caution"])
    assert "Do not fit" not in Page(tmp_path / "part-V-2.html").text
    assert Page(tmp_path / "index.html").text.count("Do not fit") == 1
    assert why in Page(tmp_path / "index.html").text


def test_archive_keeps_old_releases_and_tells_what_is_in_force(tmp_path: Path) -> None:
    old = part(status="superseded", revision="A", issue=1, href="../../../parts/V-1/A.1-0/")
    gone = part("V-0", status="withdrawn")
    render_site(library(part(), archive=(old, gone)), tmp_path)
    archive = Page(tmp_path / "archive.html")
    links = {link["href"] for link in archive.of("a")}
    assert {"old-V-1@A.1.html", "old-V-0@B.2.html"} <= links
    past = Page(tmp_path / "old-V-1@A.1.html")
    assert "In force is V-1 revision B, issue 2" in past.text
    assert "part-V-1.html" in {link["href"] for link in past.of("a")}
    assert "no longer offered" in Page(tmp_path / "old-V-0@B.2.html").text
    now = {link["href"] for link in Page(tmp_path / "part-V-1.html").of("a")}
    assert "old-V-1@A.1.html" in now
    assert "V-0" not in Page(tmp_path / "index.html").text


def test_no_two_releases_share_a_page() -> None:
    odd = ["index", "part-1", "old-1", "A", "A.1", "A-1", "1.A"]
    made = [page_name(part(number)) for number in odd]
    made += [
        page_name(part(number, status="withdrawn", issue=i)) for number in odd for i in (1, 11)
    ]
    assert len({name.casefold() for name in made}) == len(made)
    assert not {"index.html", "compare.html", "archive.html"} & set(made)


def test_a_bare_record_and_one_of_another_layout_make_pages(tmp_path: Path) -> None:
    bare = part("V-1", {"schema_version": "1.0"}, names=(".json",))
    other = part("V-2", {"schema_version": "9.0", "air": {"flows": [{}]}}, names=(".json",))
    dry = part("V-3", altered(RECORD, water__exposures=[]))
    render_site(library(bare, other, dry), tmp_path)
    assert "another layout" in Page(tmp_path / "part-V-2.html").text
    assert "another layout" not in Page(tmp_path / "part-V-1.html").text
    assert "The row says dry" in Page(tmp_path / "part-V-3.html").text
    for name in ("part-V-1.html", "part-V-2.html"):
        assert f"{name[5:8]}.json" in Page(tmp_path / name).text


def test_columns_of_ones_own_are_shown_and_found(tmp_path: Path) -> None:
    record = altered(
        RECORD, catalogue={"pitch_mm": 7.0}, own={"x_drawer_no": "12 <b> & 4", "x_eu": "3"}
    )
    render_site(library(part("V-1", record), part("V-2")), tmp_path)
    told = Page(tmp_path / "part-V-1.html").text
    assert "Columns of your own drawer no 12 <b> & 4 eu 3" in told
    assert "pitch" not in told
    assert "Columns of your own" not in Page(tmp_path / "part-V-2.html").text
    (found,) = [r for r in Page(tmp_path / "index.html").of("tr") if r.get("data-part") == "V-1"]
    assert "12 <b> & 4" in str(found["data-words"])


def test_an_empty_library_makes_pages(tmp_path: Path) -> None:
    render_site(library(), tmp_path)
    assert "0 vents" in Page(tmp_path / "index.html").text
    assert "Nothing has been replaced" in Page(tmp_path / "archive.html").text


def test_files_are_listed_with_size_and_hash_and_links_are_quoted(tmp_path: Path) -> None:
    files = tuple(
        SiteFile(f"V-1{ending}", size, f"{size:064x}")
        for ending, size in ((".step", 630_013), (".stl", 999), ("-what #1.bin", 2_928_000))
    )
    render_site(library(part(files=files, href="../../../parts/V 1/B.2-0/")), tmp_path)
    page = Page(tmp_path / "part-V-1.html")
    for words in (
        "V-1.step Exact solid 630 kB",
        "V-1.stl Vent 999 B",
        "V-1-what #1.bin File 2.9 MB",
    ):
        assert words in page.text
    for file in files:
        assert file.sha256 in page.text
    links = {link["href"] for link in page.of("a")}
    assert "../../../parts/V%201/B.2-0/V-1-what%20%231.bin" in links


def test_every_file_of_a_part_has_words() -> None:
    endings = [known.ending for known in KNOWN]
    assert len(set(endings)) == len(endings)
    assert set(FILE_ENDINGS) == set(endings)


def test_what_a_browser_may_load_is_stated_on_every_page(tmp_path: Path) -> None:
    old = part("V-9", status="withdrawn")
    names = ("-model.js", "-front.png", "-cut.png", "-section.svg", "-water-sight.svg", "-cost.png")
    render_site(library(part(names=names), archive=(old,)), tmp_path)
    for name, page in pages(tmp_path).items():
        (policy,) = [m["content"] for m in page.of("meta") if m.get("http-equiv")]
        assert policy is not None
        assert policy.startswith("default-src 'none'; script-src 'self' file:;"), name
        assert "unsafe" not in policy
        for tag, attrs in page.elements:
            assert "style" not in attrs, (name, tag)
            assert not [a for a in attrs if a.startswith("on")], (name, tag)
            for at in ("href", "src"):
                where = attrs.get(at)
                assert where is None or not re.match(r"[a-z]+:|//|/", where) or where == "data:,"


def test_every_page_is_ready_for_readers_aloud(tmp_path: Path) -> None:
    names = ("-model.js", "-front.png", "-cut.png", "-section.svg", "-drawing.svg", "-print.png")
    names += ("-water-sight.svg", "-water-tracks.svg", "-cost.svg", "-datasheet.pdf")
    render_site(library(part(names=names), archive=(part("V-9", status="withdrawn"),)), tmp_path)
    for name, page in pages(tmp_path).items():
        assert page.of("html") == [{"lang": "en"}]
        assert len(page.of("h1")) == 1
        ids = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
        assert len(set(ids)) == len(ids), name
        for image in page.of("img"):
            assert image.get("alt") is not None
            # An empty text is for pictures whose link is spoken beside them.
            assert image["alt"] or name == "index.html"
        for table in page.of("table"):
            assert table
        assert page.elements.count(("main", {"id": "main"})) == 1
        jumps = {str(a["href"])[1:] for a in page.of("a") if str(a["href"]).startswith("#")}
        assert jumps <= set(ids)
    shown = " ".join(str(i["alt"]) for i in pages(tmp_path)["part-V-1.html"].of("img"))
    assert "V-1 from in front: Feeder box" in shown
    assert "Section through V-1 in its panel" in shown


def test_index_sorts_and_filters_by_the_records_own_numbers(tmp_path: Path) -> None:
    circle = altered(
        RECORD, opening__kind="circle", opening__width_mm=20.0, opening__height_mm=20.0
    )
    several = altered(
        RECORD, water__exposures=[exposure("rain", "holds"), exposure("hose_down", "fails")]
    )
    render_site(library(part("V-1"), part("V-2", circle), part("V-3", several)), tmp_path)
    text = (tmp_path / "index.html").read_text(encoding="utf-8")
    rows = dict(re.findall(r'<tr role="row" data-part="([^"]+)"(.*?)</tr>', text, re.S))
    value = {
        (number, name): float(found)
        for number, row in rows.items()
        for name, found in re.findall(r'class="(\w+)" data-label="[^"]*" data-v="([^"]*)"', row)
    }
    assert value["V-1", "opening"] == 4800.0
    assert value["V-2", "opening"] == pytest.approx(314.159, abs=0.001)
    assert value["V-1", "flow_in"] == 17.04
    assert value["V-1", "free_area"] == 2093.82
    assert value["V-1", "mass"] == 34.759
    assert value["V-1", "price_100"] == 2.684
    # What is predicted to hold least comes last.
    assert value["V-1", "predicted"] < value["V-3", "predicted"]
    assert 'data-waters="rain=holds;hose down=fails;"' in rows["V-3"]
    assert "<option>hose down</option>" in text


def test_all_data_of_the_package_goes_into_its_wheel() -> None:
    """Each file beside the code is caught by a pattern of the package's data."""
    settings = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = settings["tool"]["setuptools"]["package-data"]["vent_family"]
    carried = {path for pattern in patterns for path in PACKAGE.glob(pattern)}
    there = {
        path
        for path in PACKAGE.rglob("*")
        if path.is_file()
        and path.suffix not in (".py", ".pyc")
        and not {"__pycache__", "node_modules"} & set(path.parts)
    }
    assert len(there) > 12
    assert there - carried == set()


def test_the_viewer_was_bundled_from_the_source_beside_it() -> None:
    bundle = (SITE / "static" / "viewer.js").read_bytes()
    source = (SITE / "viewer" / "viewer.mjs").read_bytes()
    assert hashlib.sha256(source).hexdigest().encode() in bundle[:400]
    locked: dict[str, Any] = json.loads((SITE / "viewer" / "package-lock.json").read_text("utf-8"))
    version = locked["packages"]["node_modules/three"]["version"]
    assert f"three {version} ".encode() in bundle[:400]
    assert "three.js authors" in (SITE / "static" / "viewer-licence.txt").read_text("utf-8")
