"""The types of NumPy arrays that function signatures name."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
"""Double-precision numbers."""
IntArray = NDArray[np.int64]
"""Whole numbers and indices."""
BoolArray = NDArray[np.bool_]
"""Truth values, as masks."""
ObjectArray = NDArray[np.object_]
"""Python objects, as shapely's polygons."""
