"""Days as the hall counts them: moments are kept in UTC, days are those of this machine's zone."""

from datetime import UTC, date, datetime, time, timedelta


def local_date(moment: datetime) -> date:
    """The day on which that moment was, where this machine stands."""
    return moment.astimezone().date()


def today() -> date:
    """The present day, where this machine stands."""
    return local_date(now())


def now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)


def day_after(day: date) -> datetime:
    """The moment at which that day is over, where this machine stands; in UTC.

    In some places clocks are put forward at midnight, and the next day begins at one o'clock:
    ``astimezone`` would have this one end an hour too early there.
    """
    midnight = datetime.combine(day + timedelta(days=1), time())
    return datetime.fromtimestamp(midnight.timestamp(), UTC)
