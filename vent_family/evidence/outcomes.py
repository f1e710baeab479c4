"""The words for a predicted outcome, and which of them is worse."""

from __future__ import annotations

from typing import Final, Literal

Outcome = Literal["holds", "marginal", "fails"]

RANK: Final[dict[Outcome, int]] = {"holds": 0, "marginal": 1, "fails": 2}
"""Outcomes from the best to the worst."""

VERBS: Final[dict[Outcome, str]] = {"holds": "hold", "marginal": "be marginal", "fails": "fail"}
"""Outcomes as they stand after "predicted to"."""
