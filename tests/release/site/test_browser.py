"""A site of a built part and of others made after it, opened from the disk in a real browser."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from tests.helpers.browser import launching
from tests.helpers.rows import spec
from tests.release.site.libraries import altered, exposure, library, published
from vent_family.release.jobs import build_time
from vent_family.release.part import release_part
from vent_family.release.site.figures import GROUPS, RATED_PA, aligned, groups_of
from vent_family.release.site.render import render_site

READY = ".model[data-ready]"


def until(page: Page, condition: str) -> None:
    """Wait for a condition without code that the page's policy forbids."""
    for _ in range(200):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within 10 s: {condition}")


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a built part."""
    folder = tmp_path_factory.mktemp("built") / "HV-R040"
    row = spec(
        part_number="HV-R040",
        size="40x40",
        exposure="dripping",
        face_velocity_m_s=0.5,
        pitch_mm=7,
        overlap_mm=3,
        slat_thickness_mm=1.2,
        slat_foot_mm=0,
        bank_gaps_mm="2.7",
    )
    release_part(
        row,
        folder,
        row_hash="0" * 16,
        time_stamp=build_time(),
        publish_if="any",
        for_people=True,
    )
    return folder


@pytest.fixture(scope="module")
def record(built: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((built / "HV-R040.json").read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def site(built: Path, record: dict[str, Any], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the site's folder of a library: V-2 is the built part, the others differ from it."""
    out = tmp_path_factory.mktemp("library")

    def made(number: str, **places: Any) -> Any:
        # One page with the model is enough for most tests: drawing it takes a second.
        left_out = () if number == "V-2" else ("-model.js",)
        return published(out, number, built, altered(record, **places), left_out)

    larger = {"opening__width_mm": 90.0, "printing__printed_mass_g": 9.0}
    flows = [
        dict(line) | {"flow_in_m3_h": 10.0 * line["flow_in_m3_h"]}
        for line in record["air"]["flows"]
    ]
    failing = [exposure("rain", "fails", record), exposure("dripping", "holds", record)]
    parts = (
        made("V-10", identity__description="Pumpe <b>&</b> Kühler", air__flows=flows),
        made("V-2"),
        made("V-30", water__exposures=[], louvre__free_area_mm2=None),
        made("V-4", **larger, water__exposures=failing, identity__family="flanged"),
    )
    old = published(out, "V-1", built, record, ("-model.js", ".step"))
    parts = (*parts[:3], replace(parts[3], family="flanged", standing="do not fit: it fails"))
    folder = out / "generations" / "g-0001" / "site"
    folder.mkdir(parents=True)
    gone = replace(old, status="withdrawn")
    past = replace(parts[1], status="superseded", revision="A", issue=1)
    render_site(library(*parts, archive=(gone, past)), folder)
    return folder


@pytest.fixture(scope="module")
def launch() -> Iterator[Callable[..., Browser]]:
    """Return what starts a browser with more options."""
    with launching() as started:
        yield started


@pytest.fixture(scope="module")
def browser(launch: Callable[..., Browser]) -> Iterator[Browser]:
    started = launch()
    yield started
    started.close()


Open = Callable[..., Page]


@pytest.fixture
def opened(browser: Browser, site: Path) -> Iterator[Open]:
    """Return what opens a page of the site; at the end no page may have complained of anything."""
    contexts, wrong = [], []

    def note_failed(request: Any) -> None:
        # A picture still on its way when the page is left is no fault of the page.
        if request.failure != "net::ERR_ABORTED":
            wrong.append(f"failed: {request.url}")

    def open_page(name: str, wait: str = "", **options: Any) -> Page:
        context = browser.new_context(**({"viewport": {"width": 1200, "height": 900}} | options))
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: wrong.append(message.text))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("requestfailed", note_failed)
        page.on(
            "request",
            lambda r: (
                None if r.url.startswith(("file:", "data:", "blob:")) else wrong.append(r.url)
            ),
        )
        page.goto((site / name.split("#")[0]).as_uri() + "".join(name.partition("#")[1:]))
        if wait:
            page.wait_for_selector(wait, timeout=30_000)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert wrong == []


def shown(page: Page) -> list[str]:
    rows = page.locator("table.parts tbody tr:visible")
    return [str(row.get_attribute("data-part")) for row in rows.all()]


def status(page: Page) -> str:
    return page.locator("#count").inner_text()


def test_every_figure_is_found_in_a_record_as_it_is_written_now(record: dict[str, Any]) -> None:
    """A field that was renamed would silently leave its figure out of all pages."""
    names = {f.name for f in aligned(record) if f is not None}
    assert sum(len(makes) for _, makes in GROUPS) == len(names) + 3
    # What this vent has not, by the table of figures: a neck, a gasket, what presses it.
    assert not {"thread", "gasket", "torque"} & names
    assert [heading for heading, _ in groups_of(aligned(record))] == [h for h, _ in GROUPS]


def test_page_and_report_state_the_same_numbers(
    built: Path, site: Path, record: dict[str, Any]
) -> None:
    report = (built / "HV-R040-print.md").read_text(encoding="utf-8")
    page = (site / "part-V-2.html").read_text(encoding="utf-8")
    flow = re.search(rf"([\d.]+) (\([\d.]+ to [\d.]+\)) m3/h drawn in at {RATED_PA:g} Pa", report)
    mass = re.search(r"It weighs ([\d.]+) g", report)
    assert flow is not None
    assert mass is not None
    assert f"<td>{flow[1]} {flow[2]} m³/h</td>" in page
    assert f"<td>{mass[1]} g</td>" in page
    for order in re.findall(r"^\| (1|100|1000|10000) \|.* ([\d.]+) \| [\d.]+ \|$", report, re.M):
        assert f"USD {order[1]}" in page, order


def test_every_link_and_picture_of_every_page_leads_to_a_file(site: Path) -> None:
    seen = set()
    for page in site.glob("*.html"):
        for where in re.findall(r'(?:href|src)="([^"]*)"', page.read_text(encoding="utf-8")):
            if where.startswith("data:"):
                continue
            target = urlsplit(where)
            path = (page.parent / unquote(target.path)).resolve() if target.path else page
            assert path.is_file(), (page.name, where)
            seen.add(path.suffix)
    assert {".html", ".js", ".css", ".step", ".stl", ".3mf", ".json", ".md", ".svg"} <= seen


def test_all_pages_open_without_a_word_of_complaint(opened: Open, site: Path) -> None:
    names = sorted(path.name for path in site.glob("*.html"))
    assert len(names) == 9
    for name in names:
        page = opened(name, READY if name == "part-V-2.html" else "")
        assert page.locator("h1").count() == 1
        assert (
            page.locator("img").evaluate_all(
                "(all) => all.filter((i) => i.complete && !i.naturalWidth).length"
            )
            == 0
        )


def test_index_filters_and_keeps_its_state_in_the_address(opened: Open) -> None:
    page = opened("index.html")
    assert shown(page) == ["V-10", "V-2", "V-30", "V-4"]
    assert status(page) == "4 vents"
    page.fill("[name=q]", "kuhler PUMPE")
    assert shown(page) == ["V-10"]
    assert status(page) == "1 of 4 vents"
    page.fill("[name=q]", "")
    page.select_option("[name=family]", "flanged")
    assert shown(page) == ["V-4"]
    page.click("button[type=reset]")
    until(page, "document.getElementById('count').textContent === '4 vents'")
    # Without a water all that the row names count; a dry row is predicted nothing.
    page.select_option("[name=predicted]", "marginal")
    assert shown(page) == ["V-10", "V-2"]
    page.select_option("[name=water]", "dripping")
    assert shown(page) == ["V-10", "V-2", "V-4"]
    page.select_option("[name=predicted]", "")
    page.select_option("[name=water]", "rain")
    assert shown(page) == ["V-4"]
    page.select_option("[name=water]", "")
    page.fill("[name=width]", "40")
    assert shown(page) == ["V-10", "V-2", "V-30"]
    page.fill("[name=air]", "20")
    assert shown(page) == ["V-10"]
    page.reload()
    assert shown(page) == ["V-10"]
    assert page.input_value("[name=air]") == "20"
    page.fill("[name=air]", "9999")
    assert page.locator("#none").is_visible()
    page.fill("[name=air]", "")
    page.fill("[name=area]", "1")
    # No figure, no place among those that are large enough.
    assert shown(page) == ["V-10", "V-2"]


def test_index_sorts_by_any_figure_and_numbers_naturally(opened: Open) -> None:
    page = opened("index.html")

    def sort(by: str) -> list[str]:
        page.click(f"thead [data-sort={by}] button")
        return shown(page)

    assert sort("part") == ["V-2", "V-4", "V-10", "V-30"]
    assert sort("part") == ["V-30", "V-10", "V-4", "V-2"]
    assert page.get_attribute("[data-sort=part]", "aria-sort") == "descending"
    assert sort("flow_in")[-1] == "V-10"
    assert page.get_attribute("[data-sort=part]", "aria-sort") is None
    assert page.get_attribute("[data-sort=flow_in]", "aria-sort") == "ascending"
    assert sort("mass")[0] == "V-4"
    assert sort("opening")[-1] == "V-4"
    # What has no figure stands last either way.
    assert sort("free_area")[-1] == "V-30"
    assert sort("free_area")[-1] == "V-30"
    assert sort("predicted")[-1] == "V-30"
    assert shown(page)[-2] == "V-4"
    page.reload()
    assert shown(page)[-2:] == ["V-4", "V-30"]


def test_two_or_three_are_compared_side_by_side(opened: Open, record: dict[str, Any]) -> None:
    page = opened("index.html")
    for number in ("V-2", "V-4", "V-10"):
        page.check(f"input[value={number}]")
    assert page.locator("input[name=compare]:disabled").count() == 1
    page.uncheck("input[value=V-10]")
    page.click("#chosen a")
    page.wait_for_selector(".compared thead")
    heads = page.locator(".compared thead th a")
    assert heads.all_inner_texts() == ["V-2", "V-4"]
    assert "do not fit: it fails" in page.locator(".compared thead").inner_text()
    rows = page.locator(".compared tbody tr:not(.group)")
    cells = {
        row.locator("th").inner_text(): row.locator("td").all_inner_texts() for row in rows.all()
    }
    assert cells["Opening"] == ["40 × 40 mm", "90 × 40 mm"]
    assert cells["Mass as printed"] == [f"{record['printing']['printed_mass_g']:.1f} g", "9.0 g"]
    assert len(cells) > 20
    page.check("[name=differ]")
    told = {row.locator("th").inner_text() for row in rows.all()}
    assert told == {label for label, texts in cells.items() if len(set(texts)) > 1}
    assert {"Opening", "Mass as printed", "Water, predicted"} <= told
    assert f"{len(told)} figures differ" in page.locator("#told").inner_text()
    page.select_option("select[name=part] >> nth=2", "V-10")
    page.reload()
    assert heads.all_inner_texts() == ["V-2", "V-4", "V-10"]
    assert page.is_checked("[name=differ]")
    for where in heads.evaluate_all("(all) => all.map((a) => a.href)"):
        assert Path(unquote(urlsplit(where).path)).is_file()


def stage(page: Page) -> np.ndarray[Any, Any]:
    """Return the model's pixels, once everything asked for has been drawn."""
    page.evaluate("new Promise((d) => requestAnimationFrame(() => requestAnimationFrame(d)))")
    data = page.locator(".model canvas").screenshot()
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)


def different(a: np.ndarray[Any, Any], b: np.ndarray[Any, Any]) -> float:
    """Return the share of pixels that differ plainly."""
    return float((np.abs(a - b).max(axis=2) > 12).mean())


def test_the_model_is_drawn_and_turns_by_keys_by_dragging_and_by_buttons(opened: Open) -> None:
    page = opened("part-V-2.html", READY)
    assert page.locator(".still").is_hidden()
    canvas = page.locator(".model canvas")
    canvas.focus()
    first = stage(page)
    blank = np.broadcast_to(first[20, 20], first.shape)
    assert 0.08 < different(first, blank) < 0.8

    def turned(act: Callable[[], object]) -> float:
        before = stage(page)
        act()
        return different(before, stage(page))

    for key in ("ArrowLeft", "ArrowUp", "+", "-"):
        assert turned(lambda key=key: page.keyboard.press(key)) > 0.01, key
    page.keyboard.press("Home")
    assert different(first, stage(page)) == 0.0
    # Nothing moves by itself, and other keys do nothing.
    assert turned(lambda: page.keyboard.press("a")) == 0.0
    box = canvas.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def drag() -> None:
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 90, y + 20, steps=3)
        page.mouse.up()

    assert turned(drag) > 0.01
    assert turned(lambda: page.click("button[data-move=ArrowRight]")) > 0.01


def test_the_model_holds_the_volume_that_the_kernel_measures(
    opened: Open, record: dict[str, Any]
) -> None:
    """As unpacked by the page's own script; the kernel's volume is that of the exact solid."""
    page = opened("part-V-2.html", READY)
    found = page.evaluate(
        """async () => {
          const { positions: p, triangles: t } = await ventViewer.unpack(self.ventModel);
          let six = 0;
          for (let i = 0; i < t.length; i += 3) {
            const [a, b, c] = [3 * t[i], 3 * t[i + 1], 3 * t[i + 2]];
            six += p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1])
              + p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2])
              + p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c]);
          }
          const side = (axis, pick) => pick(...[...p].filter((_, i) => i % 3 === axis));
          return [six / 6, ...[0, 1, 2].flatMap((a) => [side(a, Math.min), side(a, Math.max)])];
        }"""
    )
    assert found[0] == pytest.approx(record["geometry"]["volume_mm3"], rel=0.003)
    assert found[1::2] == pytest.approx(record["geometry"]["box_min_mm"], abs=0.01)
    assert found[2::2] == pytest.approx(record["geometry"]["box_max_mm"], abs=0.01)


def test_without_a_graphics_card_the_page_stays_as_it_is(
    launch: Callable[..., Browser], site: Path
) -> None:
    browser = launch("--disable-3d-apis")
    page = browser.new_page()
    page.goto((site / "part-V-2.html").as_uri())
    until(page, "self.ventViewer !== undefined")
    page.wait_for_timeout(200)
    assert page.locator(".model canvas").count() == 0
    assert page.locator(".still").is_visible()
    assert page.locator(".turns").is_hidden()
    browser.close()


def test_everything_can_be_reached_and_worked_by_keys(opened: Open) -> None:
    page = opened("index.html")
    reached = []
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate(
                "(a => a.className || a.name || a.textContent.trim())(document.activeElement)"
            )
        )
        if reached[-1] == "Mass as printed":
            page.keyboard.press("Enter")
            break
    assert reached[0] == "skip"
    assert {"q", "family", "water", "predicted", "air", "width", "height"} <= set(reached)
    assert shown(page)[0] == "V-4"
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    part = opened("part-V-2.html", READY)
    for _ in range(30):
        part.keyboard.press("Tab")
        if part.evaluate("document.activeElement.tagName") == "CANVAS":
            break
    before = stage(part)
    part.keyboard.press("ArrowRight")
    assert different(before, stage(part)) > 0.01


def test_without_scripts_everything_can_be_read(opened: Open) -> None:
    page = opened("index.html", java_script_enabled=False)
    assert page.locator("#filters").is_hidden()
    assert page.locator("input[name=compare] >> visible=true").count() == 0
    assert len(shown(page)) == 4
    assert "Pumpe <b>&</b> Kühler" in page.locator("table.parts").inner_text()
    part = opened("part-V-2.html", java_script_enabled=False)
    assert part.locator(".still").is_visible()
    assert part.locator(".turns").is_hidden()
    assert "Predicted values" in part.locator(".caution").first.inner_text()
    compare = opened("compare.html", java_script_enabled=False)
    assert "needs a script" in compare.locator("main").inner_text()


@pytest.mark.parametrize("name", ["index.html", "part-V-4.html", "archive.html", "compare.html"])
def test_nothing_runs_over_the_edge_of_a_phone(opened: Open, name: str) -> None:
    page = opened(name, viewport={"width": 360, "height": 740})
    assert page.evaluate("document.documentElement.scrollWidth") == 360
