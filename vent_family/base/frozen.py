"""The base of everything written into a part's record."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A frozen model whose published schema allows no other fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")
