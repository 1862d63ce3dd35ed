"""A list as somebody typed it, read; and what was read of it, in short."""

from settingsdesk.sheets.lists.preview import ListPreview
from settingsdesk.sheets.lists.reading import read_lists


def list_of(text: str, encoding: str = "utf-8", **known: object) -> ListPreview:
    return read_lists(text.encode(encoding), "list.csv", **known)  # type: ignore[arg-type]


def taken(found: ListPreview) -> list[tuple[str, str, int | str | None]]:
    return [(one.athlete, one.axis, one.value_mm or one.mark) for one in found.accepted]


def queried(found: ListPreview) -> list[tuple[int, str, str]]:
    return [(one.row, one.column, one.read) for one in found.queries]


IDA = [("Marsh, Ida", "low_rail", 1650), ("Marsh, Ida", "high_rail", 2450)]
