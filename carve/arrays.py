"""The array types that every room shares."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
"""Float array; its shape and unit stand in the docstring of whoever takes or returns it."""

IntArray = npt.NDArray[np.int64]
"""Integer array: indices into another array."""

BoolArray = npt.NDArray[np.bool_]
"""Mask over another array."""
