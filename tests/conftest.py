"""Settings shared by all tests, and the tables that some of them tell."""

from hypothesis import settings

# No deadline: compiled loops are compiled at their first call. Derandomised: the same run on every machine.
settings.register_profile("lapwright", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("lapwright")


def pytest_terminal_summary(terminalreporter):
    """Show every table that a test recorded, whichever process ran it: nobody sees what other processes print."""
    reports = [each for kind in ("passed", "failed") for each in terminalreporter.getreports(kind)]
    tables = [value for each in reports for name, value in getattr(each, "user_properties", ()) if name == "table"]
    if tables:
        terminalreporter.section("predicted against measured")
        terminalreporter.write_line("\n\n".join(dict.fromkeys(tables)))
