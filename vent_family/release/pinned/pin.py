"""A pin: one release of one part, told from every other by the hash of its files."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.release.publish.layout import part_folder


@dataclass(frozen=True, slots=True)
class Pin:
    """Part number, revision and issue, and the SHA-256 of the release's files as one."""

    part_number: str
    revision: str
    issue: int
    sha256: str

    @property
    def label(self) -> str:
        """Revision and issue, as A.1."""
        return f"{self.revision}.{self.issue}"

    @property
    def name(self) -> str:
        """Part number, revision and issue, as people say it: ``HV-R040 D.2``."""
        return f"{self.part_number} {self.label}"

    @property
    def folder(self) -> str:
        """The path of the release's folder within its library."""
        return part_folder(self.part_number, self.revision, self.issue, self.sha256)
