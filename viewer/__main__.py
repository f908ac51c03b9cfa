"""Where `lapwright` and `python -m viewer` start: so little that Ctrl-C is answered even while libraries load."""

import sys


def main() -> None:
    """Run the command line."""
    try:
        from viewer.cli import main as run  # an interrupt during this import is caught as well

        run()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
