"""Reads one calendar in a process of its own, which can be stopped.

Request and answer go through standard input and output as pickles; both ends are
this program, and the calendar's bytes are data within the request.
"""

import pickle
import sys

from planner.errors import CalendarError, Fault
from planner.files.ics.stretches import Request, taken_stretches
from planner.nouns.calendar import Calendar

MEMORY_BYTES_MAX = 1 << 30
PROCESSOR_S_MAX = 10

CalendarOrFaults = Calendar | tuple[Fault, ...]


def limit_process() -> None:
    """Hold the process to its memory and processor time, where the system can."""
    try:
        import resource  # only some systems have it
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES_MAX, MEMORY_BYTES_MAX))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S_MAX, PROCESSOR_S_MAX + 1))


def answer(request: Request) -> CalendarOrFaults:
    """Return the calendar, or its faults."""
    try:
        return taken_stretches(request, steps_max=None)
    except CalendarError as error:
        return error.faults
    except MemoryError:
        return (
            Fault(
                where="the file",
                message="reading it takes too much memory",
                hint="export fewer days",
            ),
        )


if __name__ == "__main__":
    limit_process()
    asked = pickle.load(sys.stdin.buffer)
    sys.stdout.buffer.write(pickle.dumps(answer(asked)))
