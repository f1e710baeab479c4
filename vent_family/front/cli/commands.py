"""The group of all commands: with ``--json``, wrong words and Ctrl-C, too, are answered in JSON."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Any

from typer.core import TyperGroup

from vent_family.base.problems import Problem
from vent_family.front.cli.common import EXIT_UNREADABLE, ONE_LINE, interrupted, print_answer


class Commands(TyperGroup):
    """All commands under one name."""

    as_json = False
    """Whether the command line that runs asks for JSON; known before its words are understood."""

    def main(self, args: Sequence[str] | None = None, *rest: Any, **more: Any) -> Any:
        """Run a command line, given as words; without them, that of the process."""
        words = sys.argv[1:] if args is None else args
        lines = "--json-lines" in words
        self.as_json = lines or "--json" in words
        if not self.as_json:
            return super().main(args, *rest, **more)
        before = ONE_LINE.set(lines)
        try:
            code = super().main(args, *rest, **more | {"standalone_mode": False})
        except Exception as error:
            problem = misused(error)
            if problem is None:
                raise
            print_answer("refusal", {"problems": [problem.as_dict()]})
            code = EXIT_UNREADABLE
        finally:
            ONE_LINE.reset(before)
        sys.exit(code)

    def invoke(self, ctx: Any) -> Any:
        """Run the command that the words name."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            interrupted("nothing is half-written", self.as_json)


def misused(error: Exception) -> Problem | None:
    """Return what is wrong with the words of a command line; ``None`` for any other error.

    Examples
    --------
    >>> import typer
    >>> misused(typer.BadParameter("twelve is no number")).sentence()
    'Invalid value: twelve is no number.'
    >>> misused(ValueError("twelve")) is None
    True
    """
    # What the command line's library raises has no public class that all its versions share.
    words = getattr(error, "format_message", None)
    if not callable(words):
        return None
    context = getattr(error, "ctx", None)
    command = "" if context is None else context.command_path
    return Problem(
        "command.usage",
        str(words()).rstrip("."),
        suggestion=f"see {command} --help" if command else "",
    )
