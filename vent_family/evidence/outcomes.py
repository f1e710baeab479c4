"""The words for a predicted outcome."""

from __future__ import annotations

from typing import Final, Literal

Outcome = Literal["holds", "marginal", "fails"]

VERBS: Final[dict[str, str]] = {"holds": "hold", "marginal": "be marginal", "fails": "fail"}
"""Outcomes as they stand after "predicted to"."""
