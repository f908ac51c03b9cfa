"""Compiled loops keep working where no cache can be written, and divide by the rules that they are asked for."""

import numpy as np
import pytest
from numba.core import caching

from assembly.compiled import kernel, numpy_kernel


@pytest.mark.parametrize("decorate", [kernel, numpy_kernel])
def test_no_place_for_a_cache(monkeypatch, decorate):
    """With no folder to write in, numba refuses to cache; the loop is compiled without."""
    monkeypatch.setattr(caching.CompileResultCacheImpl, "_locator_classes", [])

    def quarter(total):
        return total / 4

    assert decorate(quarter)(1.0) == 0.25


def test_division_by_nought():
    """The loops are two, as numba's cache would take one for the other."""

    @numpy_kernel
    def as_numpy(total, parts):
        return total / parts

    @kernel
    def as_python(total, parts):
        return total / parts

    assert as_numpy(1.0, 0.0) == np.inf
    with pytest.raises(ZeroDivisionError) as refused:
        as_python(1.0, 0.0)
    assert str(refused.value) == "division by zero"


def test_linear_algebra_where_a_loop_asks_for_it():
    """Loading numba without scipy's linear algebra takes nothing away: a dot product loads it then."""

    @kernel
    def product(left, right):
        return np.dot(left, right)

    assert product(np.array([1.0, 2.0]), np.array([3.0, 4.0])) == 11.0
