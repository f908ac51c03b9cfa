"""Settings shared by all tests."""

from hypothesis import settings

# No deadline: compiled loops are compiled at their first call. Derandomised: the same run on every machine.
settings.register_profile("lapwright", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("lapwright")
