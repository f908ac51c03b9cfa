"""Where `lapwright` and `python -m viewer` start: so little that Ctrl-C is answered even while libraries load."""

import io
import sys


def main() -> None:
    """Run the command line; a sign that an output's encoding lacks is replaced there, and stops nothing."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        from viewer.cli import main as run  # an interrupt during this import is caught as well

        run()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
