"""Reading the pages of rotations: the form, the tables, the coach's list."""

from tests.conftest import DemoClub
from tests.web.pages import Element, Page, Reader, words

TONIGHT = "/rotations/1"
WINDOW = "Bars by the window"


def new_page(reader: Reader, name: str = WINDOW) -> Page:
    """The form for a new rotation, by way of the first page."""
    return reader.get("/").follow("Plan a rotation").follow(name)


def ids_of(page: Page, *names: str) -> list[str]:
    """The values of the boxes beside those names."""
    labels = {words(label): label.get("for", "") for label in page.tree.iter("label")}
    boxes = {box.get("id"): box.get("value", "") for box in page.tree.iter("input")}
    return [boxes[labels[name]] for name in names]


def offered(page: Page) -> list[str]:
    """All athletes that are offered, in the order of the page."""
    return [box.get("value", "") for box in _boxes(page)]


def ticked(page: Page) -> list[str]:
    """Those of them who are ticked."""
    return [box.get("value", "") for box in _boxes(page) if "checked" in box.attrib]


def first_ids(page: Page, how_many: int) -> list[str]:
    """The first athletes that are offered."""
    return offered(page)[:how_many]


def _boxes(page: Page) -> list[Element]:
    return [box for box in page.tree.iter("input") if box.get("name") == "who"]


def rows(page: Page, caption: str) -> list[str]:
    """The rows of a table, as they are heard."""
    for table in page.tree.iter("table"):
        if words(next(table.iter("caption"))) == caption:
            return [words(row) for body in table.iter("tbody") for row in body.iter("tr")]
    raise AssertionError(f"no table {caption!r}")


def listed(page: Page) -> list[str]:
    """The names on the coach's list, in its order."""
    heads = [row.split(" Up ")[0].split(" Down ")[0] for row in rows(page, "The coach's list")]
    return [head.split(". ", 1)[1] for head in heads if ". " in head]


def plans(club: DemoClub) -> int:
    """How many orders are on record."""
    with club.store.installation(writes=False) as session:
        return session.connection().exec_driver_sql("select count(*) from rotation_plan").scalar()
