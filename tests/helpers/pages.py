"""Built pages read as a browser would: what they link to, ask for and show."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

_ASKS = {"script": "src", "img": "src", "iframe": "src", "source": "src", "video": "src"}


class PageText(HTMLParser):
    """One page: ids, links (``a``), what is asked for while it opens, its text, tables as rows."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self.ids: set[str] = set()
        self.links: list[str] = []
        self.asked: list[str] = []
        self.words: list[str] = []
        self.rows: list[list[str]] = []
        self._cell = False
        self._quiet = 0
        self.feed(path.read_text(encoding="utf-8"))

    @property
    def text(self) -> str:
        """All that is shown, with single spaces."""
        return " ".join("".join(self.words).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what a tag names, links to or asks for."""
        found = {name: value or "" for name, value in attrs}
        if "id" in found:
            self.ids.add(found["id"])
        if tag == "a" and "href" in found:
            self.links.append(found["href"])
        if tag == "link" and "href" in found:
            self.asked.append(found["href"])
        if tag in _ASKS and _ASKS[tag] in found:
            self.asked.append(found[_ASKS[tag]])
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th") and self.rows:
            self.rows[-1].append("")
            self._cell = True
        if tag in ("script", "style"):
            self._quiet += 1

    def handle_endtag(self, tag: str) -> None:
        """Note that a cell or a script is over."""
        if tag in ("td", "th"):
            self._cell = False
        if tag in ("script", "style"):
            self._quiet -= 1

    def handle_data(self, data: str) -> None:
        """Keep what is shown."""
        if self._quiet:
            return
        self.words.append(data)
        if self._cell:
            self.rows[-1][-1] += data


def broken_links(pages: dict[Path, PageText]) -> list[str]:
    """Return every link and everything asked for that leads to no file or to no place in one."""
    broken = []
    for path, page in pages.items():
        for where in [*page.links, *page.asked]:
            split = urlsplit(where)
            if split.scheme in ("http", "https", "mailto", "data"):
                continue
            target = (path.parent / unquote(split.path)).resolve() if split.path else path
            if not target.is_file():
                broken.append(f"{path.name}: {where}")
            elif split.fragment and target.suffix == ".html":
                ids = pages[target].ids if target in pages else PageText(target).ids
                if unquote(split.fragment) not in ids:
                    broken.append(f"{path.name}: {where}")
    return broken


def outside(pages: dict[Path, PageText]) -> list[str]:
    """Return everything that a page would ask another machine for while it opens."""
    return [
        f"{path.name}: {where}"
        for path, page in pages.items()
        for where in page.asked
        if urlsplit(where).netloc
    ]
