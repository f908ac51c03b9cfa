"""How much of a long sweep a run makes: a fifth of it or less, which tells most faults soon, or all of it.

sweep : one property asked of many random designs, or one proof of many cases

`sh .ci/sweep` makes all of it, in about twice the time of a run: for whoever changes what a sweep goes over, and for a
release.
"""

import os

import pytest

ALL = os.environ.get("LAPWRIGHT_SWEEP") == "all"

# For a case that costs as much as its likes and seldom tells more.
long = pytest.mark.skipif(not ALL, reason="a long case of a sweep, which sh .ci/sweep makes")


def some(most, one_in=5):
    """Return how many examples a run tries, of so many in the whole sweep: one in five, or in more if they are slow."""
    return most if ALL else -(-most // one_in)
