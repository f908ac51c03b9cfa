"""Types of numpy arrays, for annotations; what an array holds, its shape and its unit stand where it is used."""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
