"""Days as the hall counts them: moments are kept in UTC, days are those of this machine's zone."""

from datetime import UTC, date, datetime, time, timedelta


def local_date(moment: datetime) -> date:
    """The day on which that moment was, where this machine stands."""
    return moment.astimezone().date()


def today() -> date:
    """The present day, where this machine stands."""
    return local_date(datetime.now().astimezone())


def now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)


def day_after(day: date) -> datetime:
    """The moment at which that day is over, where this machine stands; in UTC."""
    return datetime.combine(day + timedelta(days=1), time()).astimezone().astimezone(UTC)
