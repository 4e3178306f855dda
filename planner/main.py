"""The program's entry point; Ctrl-C ends it quietly even while it is still loading."""

import gc
import sys

# Loading makes many objects that last as long as the program. Looking for garbage among
# them after each 700 new ones, as Python does, took an eighth of a short command's time.
GARBAGE_AFTER = 50_000


def main() -> None:
    """Run the command that the arguments ask for."""
    gc.set_threshold(GARBAGE_AFTER)
    try:
        from planner.cli import app
    except KeyboardInterrupt:
        sys.stderr.write("stopped\n")
        sys.exit(130)
    app()


if __name__ == "__main__":
    main()
