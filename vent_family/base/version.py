"""The package's version, read by the build and written into every file the package makes."""

from __future__ import annotations

from typing import Final

VERSION: Final = "0.1.0"
