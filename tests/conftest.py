"""Settings shared by all tests, and the tables that some of them tell."""

import signal

import pytest
from commands import runner
from hypothesis import HealthCheck, settings

# No deadline and no check of how fast examples are made: compiled loops are compiled at their first call, and a machine
# may be busy. Derandomised: the same run on every machine.
SLOW = [HealthCheck.too_slow]
settings.register_profile("lapwright", deadline=None, derandomize=True, print_blob=True, suppress_health_check=SLOW)
settings.load_profile("lapwright")


def pytest_configure():
    """Hear Ctrl-C even where tests are started in the background, which ignores it: tests press it themselves."""
    if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Return a function that runs a command in an empty folder: (exit code, standard output, error stream)."""
    monkeypatch.chdir(tmp_path)
    return runner(monkeypatch, capsys)


@pytest.fixture
def printed(run):
    """Return a function that runs a command and returns what it prints on standard output."""
    return lambda *words: run(*words)[1]


def pytest_terminal_summary(terminalreporter):
    """Show every table that a test recorded, whichever process ran it: nobody sees what other processes print."""
    reports = [each for kind in ("passed", "failed") for each in terminalreporter.getreports(kind)]
    tables = [value for each in reports for name, value in getattr(each, "user_properties", ()) if name == "table"]
    if tables:
        terminalreporter.section("predicted against measured")
        terminalreporter.write_line("\n\n".join(dict.fromkeys(tables)))
