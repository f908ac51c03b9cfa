"""Compiled loops: two decorators, with their cache on disk wherever a place for it can be written."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeVar

from numba import njit

if TYPE_CHECKING:
    from collections.abc import Callable

F = TypeVar("F", bound="Callable[..., object]")


def kernel(function: F) -> F:
    """Return `function` compiled, free of the interpreter's lock, cached on disk where that can be."""
    return _compiled(function, "python")


def numpy_kernel(function: F) -> F:
    """Return `function` compiled as by `kernel`; a division by nought gives inf or nan, as in numpy.

    A check of every divisor would keep loops with divisions from being done several at a time.
    """
    return _compiled(function, "numpy")


def _compiled(function: F, division: Literal["python", "numpy"]) -> F:
    try:
        return njit(cache=True, nogil=True, error_model=division)(function)  # type: ignore[return-value]
    except RuntimeError:  # numba finds no folder it may write its cache in: compile anew in every process
        return njit(nogil=True, error_model=division)(function)  # type: ignore[return-value]
