"""The program's entry point; Ctrl-C ends it quietly even while it is still loading."""

import sys


def main() -> None:
    """Run the command that the arguments ask for."""
    try:
        from planner.cli import app
    except KeyboardInterrupt:
        sys.stderr.write("stopped\n")
        sys.exit(130)
    app()


if __name__ == "__main__":
    main()
