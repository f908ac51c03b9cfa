"""Settings shared by all tests, and the tables that some of them tell."""

import os
import signal

import pytest
from commands import both_runner, runner
from hypothesis import HealthCheck, settings

# No deadline and no check of how fast examples are made: compiled loops are compiled at their first call, and a machine
# may be busy. Derandomised: the same run on every machine.
SLOW = [HealthCheck.too_slow]
settings.register_profile("lapwright", deadline=None, derandomize=True, print_blob=True, suppress_health_check=SLOW)
settings.load_profile("lapwright")


# Tests start many processes: where these may not keep what they compile of our modules, each would compile all of them.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


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
def both(monkeypatch, capsys, tmp_path):
    """Return a function that runs a command once in an empty folder: (exit code, text, data of `--json`)."""
    monkeypatch.chdir(tmp_path)
    return both_runner(monkeypatch, capsys)


@pytest.fixture
def printed(run):
    """Return a function that runs a command and returns what it prints on standard output."""
    return lambda *words: run(*words)[1]


@pytest.fixture(scope="module")
def off_screen():
    """Have VTK draw without a screen, in a way that works on this machine."""
    from viewer.picture.write import possible_windows  # noqa: PLC0415 - what most tests do without

    before = os.environ.get("VTK_DEFAULT_OPENGL_WINDOW")
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = possible_windows()[0]
    yield
    if before is None:
        del os.environ["VTK_DEFAULT_OPENGL_WINDOW"]


@pytest.fixture
def undrawn(off_screen, monkeypatch):  # noqa: ARG001 - before VTK is loaded
    """Let windows follow what is asked without drawing it: where states and places are looked at, and no pixels."""
    import pyvista as pv  # noqa: PLC0415 - what most tests do without

    monkeypatch.setattr(pv.Plotter, "render", lambda _: None)


@pytest.fixture(scope="module")
def one_window(off_screen):  # noqa: ARG001 - it decides how VTK draws
    """Return a window on the scenes of a test."""
    import windows  # noqa: PLC0415 - the same

    found = windows.opened(windows.Shelf())
    yield found
    found.plotter.close()


@pytest.fixture
def window(one_window):
    """Return that window as it is when it opens."""
    import windows  # noqa: PLC0415 - the same

    windows.reopened(one_window)
    return one_window


@pytest.fixture(scope="module")
def box_window(off_screen):  # noqa: ARG001 - the same
    """Return a window on the demo box."""
    import windows  # noqa: PLC0415 - the same

    scenes = windows.demo_scenes()
    found = windows.opened(scenes, windows.SIZES[0])
    yield found
    found.plotter.close()
    scenes.end()


def pytest_terminal_summary(terminalreporter):
    """Show every table that a test recorded, whichever process ran it: nobody sees what other processes print."""
    reports = [each for kind in ("passed", "failed") for each in terminalreporter.getreports(kind)]
    tables = [value for each in reports for name, value in getattr(each, "user_properties", ()) if name == "table"]
    if tables:
        terminalreporter.section("predicted against measured")
        terminalreporter.write_line("\n\n".join(dict.fromkeys(tables)))
