"""Days as the hall counts them: moments are kept in UTC, days are those of this machine's zone."""

from datetime import UTC, date, datetime


def local_date(moment: datetime) -> date:
    """The day on which that moment was, where this machine stands."""
    return moment.astimezone().date()


def today() -> date:
    """The present day, where this machine stands."""
    return local_date(datetime.now().astimezone())


def now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)
