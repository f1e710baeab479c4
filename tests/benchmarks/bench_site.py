"""How long the pages of many parts take, and how the index of as many answers in a browser.

    vent-family build --out some-folder
    python tests/benchmarks/bench_site.py some-folder --parts 1000 --out pages

Parts beyond those that were built are shown under other numbers. Left in ``--out`` the pages can be
looked at; their links lead to the built parts alone.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from hashlib import sha256
from itertools import count, islice
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from vent_family.release.site.library import SiteFile, SiteLibrary, SitePart  # noqa: E402
from vent_family.release.site.render import render_site  # noqa: E402

WORKED = {
    "sorted by mass": "document.querySelector('[data-sort=mass] button').click()",
    "sorted by number": "document.querySelector('[data-sort=part] button').click()",
    "filtered by a word": "f.elements.q.value = '1'; f.dispatchEvent(new Event('input'))",
    "all shown again": "f.elements.q.value = ''; f.dispatchEvent(new Event('input'))",
}
TIMED = """async () => {
  const f = document.getElementById("filters");
  const begun = performance.now();
  %s;
  document.body.offsetHeight;
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  return Math.round(performance.now() - begun);
}"""


def built_parts(folder: Path, site: Path) -> list[SitePart]:
    """Return the parts in a folder of ``vent-family build``, as seen from the site."""
    parts = []
    for path in sorted(folder.glob("*/*.json")):
        if path.parent.name != path.stem:
            continue
        record = json.loads(path.read_text(encoding="utf-8"))
        named = record["identity"]
        files = [
            SiteFile(f.name, f.stat().st_size, sha256(f.read_bytes()).hexdigest())
            for f in sorted(path.parent.iterdir())
        ]
        href = f"{os.path.relpath(path.parent, site)}/"
        parts.append(
            SitePart(
                path.stem,
                named["revision"],
                1,
                named["family"],
                "current",
                record["standing"],
                href,
                record,
                tuple(files),
            )
        )
    return parts


def many(parts: Sequence[SitePart], wanted: int) -> list[SitePart]:
    """Return so many parts: the built ones, then the same under other numbers."""
    return list(
        islice(
            (
                part if not turn else replace(part, part_number=f"{part.part_number}-{turn}")
                for turn in count()
                for part in parts
            ),
            wanted,
        )
    )


def in_a_browser(index: Path) -> None:
    """Print how long the index takes to open, to sort and to filter, ms."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as program:
        options = ["--no-sandbox", "--disable-background-networking"]
        browser = program.chromium.launch(executable_path="/usr/bin/chromium", args=options)
        page = browser.new_page()
        begun = time.perf_counter()
        page.goto(index.as_uri())
        print(f"index opened: {1e3 * (time.perf_counter() - begun):.0f} ms")
        for what, act in WORKED.items():
            print(f"{what}: {page.evaluate(TIMED % act)} ms")
        browser.close()


def main() -> None:
    """Write the pages, say how long it took, and open the index."""
    parser = argparse.ArgumentParser(description="Seconds and sizes of the pages of many parts.")
    parser.add_argument("built", type=Path, help="a folder of vent-family build")
    parser.add_argument("--parts", type=int, default=1000)
    parser.add_argument("--out", type=Path, required=True, help="where the pages go")
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    parts = many(built_parts(given.built.resolve(), given.out.resolve()), given.parts)
    begun = time.process_time()
    render_site(SiteLibrary("benchmark", "now", "Many vents", tuple(parts)), given.out)
    sizes = [path.stat().st_size for path in given.out.iterdir()]
    print(f"{len(parts)} parts: {time.process_time() - begun:.1f} s, {sum(sizes) / 1e6:.1f} MB")
    in_a_browser(given.out.resolve() / "index.html")


if __name__ == "__main__":
    main()
