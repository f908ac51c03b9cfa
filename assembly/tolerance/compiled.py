"""Compiled loops: one decorator, with its cache on disk wherever a place for it can be written."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from numba import njit

if TYPE_CHECKING:
    from collections.abc import Callable

F = TypeVar("F", bound="Callable[..., object]")


def kernel(function: F) -> F:
    """Return `function` compiled, free of the interpreter's lock, cached on disk where that can be."""
    try:
        return njit(cache=True, nogil=True)(function)  # type: ignore[no-any-return]
    except RuntimeError:  # numba finds no folder it may write its cache in: compile anew in every process
        return njit(nogil=True)(function)  # type: ignore[no-any-return]
