"""Where `lapwright` and `python -m viewer` start: so little that a signal is answered even while libraries load."""

import io
import signal
import sys


def _terminate(*_: object) -> None:
    """End the command as Ctrl-C does, so that children, temporary files and threads are seen to on the way out."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    sys.exit(128 + signal.SIGTERM)


def main() -> None:
    """Run the command line; a sign that an output's encoding lacks is replaced there, and stops nothing."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    if signal.getsignal(signal.SIGTERM) == signal.SIG_DFL:
        signal.signal(signal.SIGTERM, _terminate)
    try:
        from viewer.cli import main as run
    except (KeyboardInterrupt, SystemExit) as end:
        sys.stderr.write("lapwright: stopped; nothing is left half-written\n")
        sys.exit(end.code if isinstance(end, SystemExit) else 130)
    try:
        run()
    except KeyboardInterrupt:  # a second one, while the first is answered
        sys.exit(130)


if __name__ == "__main__":
    main()
