"""Command line: ``vent-family build``, ``check``, ``show`` and one command per kind of evidence.

Commands import what they need when they run, so that ``check`` answers at once.
"""

from __future__ import annotations

import errno
import os
import sys
from contextlib import suppress
from typing import Annotated, Final, NoReturn

import typer

from vent_family.base.version import VERSION
from vent_family.front.cli.air import air
from vent_family.front.cli.build import build
from vent_family.front.cli.check import check
from vent_family.front.cli.commands import Commands
from vent_family.front.cli.common import EXIT_FAILED, EXIT_INTERRUPTED, NOTHING_HALF
from vent_family.front.cli.cost import cost
from vent_family.front.cli.difference import difference
from vent_family.front.cli.improve import improve
from vent_family.front.cli.init import init
from vent_family.front.cli.pins import pins
from vent_family.front.cli.printing import print_part
from vent_family.front.cli.propose import propose_vents
from vent_family.front.cli.publish import publish, signing_key, verify
from vent_family.front.cli.show import codes, columns, schema, show
from vent_family.front.cli.sweep import sweep_requirement
from vent_family.front.cli.update import ANY_WORDS, RENAMED_COMMANDS, old_command, update
from vent_family.front.cli.water import water

_NO_OUTPUT: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG})
"""Errors of a disk or terminal that takes no more."""

app = typer.Typer(
    name="vent-family",
    cls=Commands,
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
app.command()(init)
app.command("propose")(propose_vents)
app.command()(check)
app.command()(publish)
app.command()(verify)
app.command("signing-key")(signing_key)
app.command()(build)
app.command()(difference)
app.command()(pins)
app.command()(show)
app.command()(improve)
app.command("print-check")(print_part)
app.command()(cost)
app.command()(water)
app.command()(air)
app.command("sweep")(sweep_requirement)
app.command()(columns)
app.command()(codes)
app.command()(update)
app.command()(schema)
for _old, _new in RENAMED_COMMANDS.items():
    app.command(_old, hidden=True, context_settings=ANY_WORDS)(old_command(_old, _new))


def main() -> None:
    """Run the command line; what the terminal or the disk refuses ends in one sentence."""
    try:
        try:
            app()
        finally:
            # Here, not when the interpreter ends: a full disk behind the output must be told.
            sys.stdout.flush()
    except KeyboardInterrupt:
        _end(f"interrupted: {NOTHING_HALF}", EXIT_INTERRUPTED)
    except BrokenPipeError:
        # Whoever read the output has enough of it.
        _end("", EXIT_FAILED)
    except OSError as error:
        if error.errno not in _NO_OUTPUT:
            raise
        _end(f"the output cannot be written: {error.strerror}", EXIT_FAILED)


def _end(words: str, code: int) -> NoReturn:
    """Say why, and end at once: what still waits in the output would be refused again."""
    with suppress(OSError):
        if words:
            print(words, file=sys.stderr, flush=True)
    os._exit(code)


if __name__ == "__main__":
    main()
