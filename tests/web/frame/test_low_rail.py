"""The low rail is on the left in every picture of the bars, whoever draws it and wherever."""

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from settingsdesk.desk.meet_day import crew_sheets
from settingsdesk.desk.meet_day.crew_sheet_words import paper
from settingsdesk.domain.base.drawing import Circle, Drawing
from tests.conftest import DemoClub
from tests.desk.sample_meet import hold
from tests.web.cards.making import issue
from tests.web.pages import Page, Reader
from tests.web.rotations.making import TONIGHT

SQUARE = (
    "/apparatus/1/square/?feet-along=300&feet-across=400&feet-limit=0.3&do=diagonals"
    "&feet-to_back=500.3&feet-to_front=499.7"
)


def rails_in(page: Page) -> Iterator[tuple[Element, Element]]:
    """The low and the high rail of every end view of the page, told by how high they are drawn."""
    for picture in page.tree.iter():
        if "sheet-drawing" not in picture.get("class", "").split():
            continue
        rails = [one for one in picture.iter() if "rail" in one.get("class", "").split()]
        high, low = sorted(rails, key=lambda rail: float(rail.get("cy", "")))
        yield low, high


def must_have_low_on_the_left(page: Page) -> None:
    pairs = list(rails_in(page))
    assert pairs
    for low, high in pairs:
        assert float(low.get("cx", "")) < float(high.get("cx", ""))


class TestTheLowRailIsOnTheLeft:
    """Whoever took low for high would set both rails wrong."""

    def test_on_the_athletes_page(self, demo_pages: Reader) -> None:
        must_have_low_on_the_left(demo_pages.get("/athletes/1"))

    def test_on_the_page_of_the_model(self, demo_pages: Reader) -> None:
        must_have_low_on_the_left(demo_pages.get("/apparatus/models/1"))

    def test_at_the_bars_at_a_step_and_while_somebody_is_on(self, demo_pages: Reader) -> None:
        page = demo_pages.get(TONIGHT).send("Take it to the bars")
        must_have_low_on_the_left(page)
        on = page.send("Checked by a second person", checker="Signe Moe", on_paper="1")
        must_have_low_on_the_left(on)
        setting = on.send("The turn is over")
        must_have_low_on_the_left(setting)
        must_have_low_on_the_left(
            setting.send("Done with: Slacken the tensioners a little, no more than needed")
        )

    def test_on_the_card_behind_the_code(self, demo_club: DemoClub, scanner: Reader) -> None:
        must_have_low_on_the_left(scanner.get(issue(demo_club, with_club=True)))

    def test_on_the_crew_sheet(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work() as session:
            told = paper(crew_sheets.crew_sheet(session, held.rotation_id))
        assert isinstance(told.drawing, Drawing)
        high, low = sorted(
            (one for one in told.drawing.shapes if isinstance(one, Circle)),
            key=lambda rail: -rail.y_mm,
        )
        assert low.x_mm < high.x_mm

    def test_on_the_square_aid_from_above(self, demo_pages: Reader) -> None:
        page = demo_pages.get(SQUARE)
        [picture] = page.having("class", "sheet-drawing")
        places = {
            one.text: float(one.get("x", "")) for one in picture.iter() if one.get("x") and one.text
        }
        assert places["low-rail side"] < places["high-rail side"]
