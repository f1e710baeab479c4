"""``vent-family init``: a folder to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import Problem
from vent_family.catalog.starter import starter_files
from vent_family.front.cli.common import JsonOption, print_answer, refuse, writing


def init(
    folder: Annotated[Path, typer.Argument(help="Folder to write into.")] = Path(),
    as_json: JsonOption = False,
) -> None:
    """Write a catalogue to start from, a fan curve and a shop table; nothing is overwritten."""
    found = starter_files()
    there = [name for name in found if (folder / name).exists() or (folder / name).is_symlink()]
    if there:
        problems = [
            Problem(
                "init.file.exists",
                "the file is there already, so nothing was written",
                file=str(folder / name),
                suggestion="name another folder, or move the file away",
            )
            for name in there
        ]
        refuse(problems, as_json)
    with writing("the starting files", folder, "check folder and access rights", as_json):
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in found.items():
            write_bytes(folder / name, data)
    written = [str(folder / name) for name in found]
    if as_json:
        print_answer("init", {"files": written})
        return
    console = Console(soft_wrap=True)
    for path in written:
        console.print(path, markup=False, highlight=False)
    catalog = folder / next(iter(found))
    console.print(
        f"Every rate of the shop table is invented. Next: vent-family check --catalog {catalog}",
        markup=False,
        highlight=False,
    )
