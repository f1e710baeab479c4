"""Command line: ``vent-family build``, ``check``, ``show`` and one command per kind of evidence.

Commands import what they need when they run, so that ``check`` answers at once.
"""

from __future__ import annotations

from typing import Annotated

import typer

from vent_family.base.version import VERSION
from vent_family.front.cli.air import air
from vent_family.front.cli.build import build
from vent_family.front.cli.check import check
from vent_family.front.cli.cost import cost
from vent_family.front.cli.printing import print_part
from vent_family.front.cli.show import columns, schema, show
from vent_family.front.cli.update import ANY_WORDS, RENAMED_COMMANDS, old_command, update
from vent_family.front.cli.water import water

app = typer.Typer(
    name="vent-family",
    help="Build and check a catalogue of 3D-printed vent inserts.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


def _version(value: bool) -> None:
    if value:
        print(f"vent-family {VERSION}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Build and check a catalogue of 3D-printed vent inserts."""


# In the order in which the help lists them.
app.command()(check)
app.command()(build)
app.command()(show)
app.command("print-check")(print_part)
app.command()(cost)
app.command()(water)
app.command()(air)
app.command()(columns)
app.command()(update)
app.command()(schema)
for _old, _new in RENAMED_COMMANDS.items():
    app.command(_old, hidden=True, context_settings=ANY_WORDS)(old_command(_old, _new))


def main() -> None:
    """Run the command line."""
    app()


if __name__ == "__main__":
    main()
