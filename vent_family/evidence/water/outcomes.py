"""The words for a predicted outcome."""

from __future__ import annotations

from typing import Literal

Outcome = Literal["holds", "marginal", "fails"]
