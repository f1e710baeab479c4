"""The caution that stands in every record, index, manifest, page and sheet."""

from __future__ import annotations

from typing import Final

CAUTION: Final = (
    "Predicted values, not a certified IP rating. An accredited laboratory's test, local codes and"
    " a licensed electrician decide. Mind the material's flammability and UV resistance."
)
