"""The program's entry point; Ctrl-C ends it quietly even while it is still loading."""

import gc
import sys

# New objects between two searches for garbage: a command makes few that hold one
# another in a ring, and what it loads is looked through again each time.
OBJECTS_BETWEEN_SEARCHES = 200_000


def main() -> None:
    """Run the command that the arguments ask for."""
    gc.set_threshold(OBJECTS_BETWEEN_SEARCHES)
    try:
        from planner.cli import app
    except KeyboardInterrupt:
        sys.stderr.write("stopped\n")
        sys.exit(130)
    app()


if __name__ == "__main__":
    main()
