"""Compiled loops: three decorators, with their cache on disk wherever a place for it can be written."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from numba import njit
from numba.np import linalg

if TYPE_CHECKING:
    from collections.abc import Callable

F = TypeVar("F", bound="Callable[..., object]")


def _load_arrays_alone() -> None:
    """Load numba's array functions without scipy's linear algebra, for which they only look: half of a cold start.

    Their module asks whether it is there and forgets the answer; a loop that calls for it still loads it.
    """
    asks = getattr(linalg, "ensure_blas", _nothing)  # another numba may ask elsewhere: then it takes its own time
    linalg.ensure_blas = _nothing
    try:
        import_module("numba.np.arraymath")
    finally:
        linalg.ensure_blas = asks


def _nothing() -> None:
    """Do nothing."""


_load_arrays_alone()


def kernel(function: F) -> F:
    """Return `function` compiled, free of the interpreter's lock, cached on disk where that can be."""
    return _compiled(function, "python")


def numpy_kernel(function: F) -> F:
    """Return `function` compiled as by `kernel`; a division by nought gives inf or nan, as in numpy.

    A check of every divisor would keep loops with divisions from being done several at a time.
    """
    return _compiled(function, "numpy")


def inner_kernel(function: F) -> F:
    """Return `function` compiled as by `numpy_kernel`, to be called from compiled loops only.

    It has no way in from Python and no place of its own in the cache, which takes half of the time to compile it.
    """
    options: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}  # numba's types do not list them
    return njit(nogil=True, error_model="numpy", **options)(function)  # type: ignore[no-any-return]


def _compiled(function: F, division: Literal["python", "numpy"]) -> F:
    try:
        return njit(cache=True, nogil=True, error_model=division)(function)  # type: ignore[return-value]
    except RuntimeError:  # numba finds no folder it may write its cache in: compile anew in every process
        return njit(nogil=True, error_model=division)(function)  # type: ignore[return-value]
