"""How many cases keep a date, and until when something is meant, in words."""

from datetime import datetime, time, timedelta, tzinfo

from planner.units import day_words, moment_words


def share_words(percent: int) -> str:
    """Return how many cases a percentage stands for.

    Examples
    --------
    >>> share_words(80), share_words(95), share_words(87), share_words(50)
    ('8 of 10', '19 of 20', '87 of 100', 'half of all')
    """
    if percent == 50:
        return "half of all"
    for parts in (10, 20):
        if percent * parts % 100 == 0:
            return f"{percent * parts // 100} of {parts}"
    return f"{percent} of 100"


def cases_words(frac: float) -> str:
    """Return how often something is so, as a count of a hundred cases."""
    if 0.0 < frac < 0.01:
        return "fewer than 1 of 100 cases"
    if 0.99 < frac < 1.0:
        return "more than 99 of 100 cases"
    return f"{frac * 100:.0f} of 100 cases"


def by_words(when: datetime | None, looked_until: datetime, zone: tzinfo) -> str:
    """Return by which day something has come, or that it is later than was looked at."""
    if when is None:
        return f"later than {day_words(looked_until, zone)}"
    return f"by {day_words(when, zone)}"


def until_words(when: datetime | None, looked_until: datetime, zone: tzinfo) -> str:
    """Return the same to the minute."""
    if when is None:
        return f"later than {day_words(looked_until, zone)}"
    return moment_words(when, zone)


def end_words(by: datetime, zone: tzinfo) -> str:
    """Return until when something is meant: midnight is the end of the day before.

    Examples
    --------
    >>> from datetime import UTC
    >>> end_words(datetime(2027, 3, 6, tzinfo=UTC), UTC)
    'the end of Fri 5 Mar 2027'
    >>> end_words(datetime(2027, 3, 6, 8, 30, tzinfo=UTC), UTC)
    'Sat 6 Mar 2027, 08:30'
    """
    if by.astimezone(zone).time() == time():
        return f"the end of {day_words(by - timedelta(seconds=1), zone)}"
    return moment_words(by, zone)
