"""Published values for timber, and the box that the closed forms are worked for."""

import functools
import tomllib
from pathlib import Path

from assembly.nominal.frame import Frame

# t = 10, T = 15, r = 0.5, L = 160, W = 90, H = 45: so D = K = 7.5, plain walls 145 long
BOX = Frame(along_x=160, along_y=90, height=45, lapped=15, plain=10, depth=7.5, length_axis="x")


@functools.cache
def published() -> dict:
    """Return `tests/published/timber.toml` as read; each set carries its source."""
    return tomllib.loads((Path(__file__).parent / "published" / "timber.toml").read_text(encoding="utf-8"))


def cases(kind: str) -> list[tuple]:
    """Return every published case of a kind: its inputs, the expected value and the tolerance."""
    found = [(*case, s["tol"]) for s in published()["set"] if s["kind"] == kind for case in s["cases"]]
    assert found, kind
    return found
