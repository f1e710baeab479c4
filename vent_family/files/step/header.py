"""The header of a STEP file: who wrote what, when, under which schema."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

import OCP

from vent_family.base.version import VERSION
from vent_family.files.step.part21 import check_texts, encode_text

SCHEMA: Final = "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }"
"""Name and object identifier of the AP242 schema, edition 1, as the kernel writes it."""


@dataclass(frozen=True, slots=True)
class StepHeader:
    """The header of a STEP file (ISO 10303-21, FILE_NAME).

    ``time_stamp`` is a time with its offset from UTC, as a datetime or ISO 8601 text; it is
    written to the second.

    Raises
    ------
    ValueError
        if the time has no offset, or the text is no time
    """

    file_name: str
    author: str
    organisation: str
    time_stamp: datetime | str
    originating_system: str = f"vent-family {VERSION}"
    authorisation: str = ""

    def __post_init__(self) -> None:
        """Refuse a time that would mean something else on another machine."""
        self.iso_time()
        check_texts(
            "the STEP header",
            (
                self.file_name,
                self.author,
                self.organisation,
                self.originating_system,
                self.authorisation,
            ),
        )

    def iso_time(self) -> str:
        """Return the time stamp as ISO 8601 text, to the second, with its offset.

        Raises
        ------
        ValueError
            if the text is no time, or the time has no offset

        Examples
        --------
        >>> StepHeader("a.step", "shop", "firm", "2026-03-04T05:06:07.5Z").iso_time()
        '2026-03-04T05:06:07+00:00'
        """
        stamp = self.time_stamp
        if isinstance(stamp, str):
            try:
                stamp = datetime.fromisoformat(stamp)
            except ValueError as error:
                raise ValueError(f"the time stamp {self.time_stamp!r} is not ISO 8601") from error
        if stamp.utcoffset() is None:
            raise ValueError(f"the time stamp {self.time_stamp!r} has no offset from UTC")
        return stamp.isoformat(timespec="seconds")


def header_records(header: StepHeader, subject: tuple[str, str | None, str]) -> str:
    """Return the records of the header; ``subject`` is number, revision and name of the part."""
    number, revision, name = subject
    names = ",".join(
        (
            encode_text(header.file_name),
            encode_text(header.iso_time()),
            f"({encode_text(header.author)})",
            f"({encode_text(header.organisation)})",
            encode_text(f"vent-family {VERSION} with Open CASCADE {OCP.__version__}"),
            encode_text(header.originating_system),
            encode_text(header.authorisation),
        )
    )
    about = encode_text(f"{number}{f' revision {revision}' if revision else ''}: {name}")
    # '2;1': conformance class of the second edition, in which \X2\ strings are allowed.
    return f"FILE_DESCRIPTION(({about}),'2;1');\nFILE_NAME({names});\nFILE_SCHEMA(('{SCHEMA}'));\n"
