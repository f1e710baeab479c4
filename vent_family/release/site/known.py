"""What a part's files are, in the words of those who open them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from vent_family.release.site.library import SiteFile, SitePart

Group = Literal["drawings", "solids", "printing", "records", "pictures", "other"]
GROUPS: Final[dict[Group, str]] = {
    "drawings": "Drawings and sheets",
    "solids": "Solids for CAD",
    "printing": "For the printer",
    "records": "Records",
    "pictures": "Pictures",
    "other": "Other files",
}
"""Groups of files and their headings, in order."""


@dataclass(frozen=True, slots=True)
class Known:
    """A file by the ending of its name: what it is, and what it is for."""

    ending: str
    group: Group
    title: str


KNOWN: Final = (
    Known("-datasheet.pdf", "drawings", "Datasheet"),
    Known("-inspection.pdf", "drawings", "Inspection sheet: what to gauge, with limits"),
    Known("-drawing.svg", "drawings", "Dimensioned drawing"),
    Known("-section.svg", "drawings", "Section drawing"),
    Known("-opening.dxf", "drawings", "Opening, holes and keep-out for the panel, 1:1 in mm"),
    Known("-drill.pdf", "drawings", "Drill template, 1:1"),
    Known(".step", "solids", "Exact solid"),
    Known("-assembly.step", "solids", "Vent in a piece of panel, with what goes with it"),
    Known("-envelope.step", "solids", "Envelope: outer form only, for assemblies of many parts"),
    Known("-locknut.step", "solids", "Locknut"),
    Known("-gasket.step", "solids", "Gasket, free thickness"),
    Known("-screen-frame.step", "solids", "Frame of the insect screen"),
    Known(".3mf", "printing", "Vent on its bed, with print settings"),
    Known(".stl", "printing", "Vent"),
    Known("-locknut.3mf", "printing", "Locknut on its bed, with print settings"),
    Known("-locknut.stl", "printing", "Locknut"),
    Known("-screen-frame.3mf", "printing", "Frame of the insect screen, with print settings"),
    Known("-screen-frame.stl", "printing", "Frame of the insect screen"),
    Known("-gasket.stl", "printing", "Gasket"),
    Known("-print.md", "records", "Report: air, printing, strength, cost, joint, water"),
    Known(".json", "records", "Record: every figure with its unit"),
    Known("-front.png", "pictures", "From in front"),
    Known("-cut.png", "pictures", "Cut open in its panel"),
    Known("-water-sight.svg", "pictures", "Straight paths"),
    Known("-water-sight.png", "pictures", "Straight paths"),
    Known("-water-tracks.svg", "pictures", "Tracks of drops"),
    Known("-water-tracks.png", "pictures", "Tracks of drops"),
    Known("-water-penetration.svg", "pictures", "Drops that pass, by size"),
    Known("-water-penetration.png", "pictures", "Drops that pass, by size"),
    Known("-cost.svg", "pictures", "Cost by the size of the order"),
    Known("-cost.png", "pictures", "Cost by the size of the order"),
    Known("-print.png", "pictures", "Places the layer below does not carry"),
    Known("-model.js", "other", "The model that turns on the page"),
)
"""The files of parts, in the order in which they are listed."""


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot on a part's page: the middle of its file's name, title, and what it shows."""

    stem: str
    title: str
    shows: str


WATER_PLOTS: Final = (
    Plot(
        "-water-sight",
        "Straight paths",
        "Section through the vent with the straight line that comes nearest to passing it; none"
        " may get through.",
    ),
    Plot(
        "-water-tracks",
        "Tracks of drops",
        "Section through the vent with computed tracks of drops in the moving air: where they are"
        " caught and where splashes fly.",
    ),
    Plot(
        "-water-penetration",
        "Drops that pass, by size",
        "Share of drops that pass the vent, by their diameter.",
    ),
)
COST_PLOT: Final = Plot(
    "-cost", "Cost by the size of the order", "Cost of one part by the size of the order."
)
PRINT_PLOT: Final = Plot(
    "-print",
    "On the bed",
    "The part as it lies on the print bed, with the places that the layer below does not carry.",
)


@dataclass(frozen=True, slots=True)
class Listed:
    """A file as it stands in a list: what it is, and the file."""

    title: str
    file: SiteFile


@dataclass(frozen=True, slots=True)
class PagePlot:
    """A plot as it stands on a page: title, what it shows, and its file's name."""

    title: str
    shows: str
    name: str


def listed(part: SitePart) -> list[tuple[str, list[Listed]]]:
    """Return a part's files by group, each group with its heading; unknown files stand last."""
    by_ending = {file.name.removeprefix(part.part_number): file for file in part.files}
    groups: dict[Group, list[Listed]] = {group: [] for group in GROUPS}
    for known in KNOWN:
        if known.ending in by_ending:
            groups[known.group].append(Listed(known.title, by_ending.pop(known.ending)))
    for ending, file in sorted(by_ending.items()):
        pictured = ending.startswith("-water-")
        title = _plain(ending).capitalize() if pictured else "File"
        groups["pictures" if pictured else "other"].append(Listed(title, file))
    return [(GROUPS[group], files) for group, files in groups.items() if files]


def first_of(part: SitePart, *endings: str) -> str | None:
    """Return the name of the first of some files that a part has, ``None`` if it has none."""
    names = {file.name for file in part.files}
    return next((n for e in endings if (n := part.part_number + e) in names), None)


def plot_of(part: SitePart, plot: Plot) -> PagePlot | None:
    """Return a plot of a part, as vectors where there are any; ``None`` if it has none."""
    name = first_of(part, f"{plot.stem}.svg", f"{plot.stem}.png")
    return None if name is None else PagePlot(plot.title, plot.shows, name)


def water_plots(part: SitePart) -> list[PagePlot]:
    """Return the plots of a part in water: the usual ones, then those of single exposures."""
    usual = {plot.stem for plot in WATER_PLOTS}
    others = sorted(
        {
            stem
            for file in part.files
            if (stem := file.name.removeprefix(part.part_number).rsplit(".", 1)[0]).startswith(
                "-water-"
            )
        }
        - usual
    )
    plots = (
        *WATER_PLOTS,
        *(
            Plot(stem, _plain(stem).capitalize(), f"What the section lets in: {_plain(stem)}.")
            for stem in others
        ),
    )
    return [shown for plot in plots if (shown := plot_of(part, plot)) is not None]


def _plain(ending: str) -> str:
    """Return the words in a file's ending.

    Examples
    --------
    >>> _plain("-water-hose-down.svg")
    'hose down'
    """
    return ending.rsplit(".", 1)[0].removeprefix("-water-").replace("-", " ")
