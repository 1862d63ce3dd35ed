"""Where a mark is read: said on the model's page, seen at the step by who sets it."""

from io import BytesIO

from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from tests.conftest import DemoClub
from tests.desk.checks.pictures import jpeg
from tests.web.pages import Page, Reader, words

ADDRESS = "/apparatus/models/1/marks/low_rail"
AT_SLEEVE = "Read at the lower edge of the sleeve"
SAVE = "Save where it is read"


def say(pages: Reader, at: str = AT_SLEEVE, *, photo: bytes = b"", **typed: object) -> Page:
    sent = {"photo": (BytesIO(photo), "mark.jpg")} if photo else {}
    return pages.get(ADDRESS).send(SAVE, words=at, **sent, **typed)


def pictures(page: Page) -> list[str]:
    """Where the photos of a page are; each says what it shows, and is asked for when it is seen."""
    found = [image for image in page.tree.iter("img") if "photo" in image.get("src", "")]
    for image in found:
        assert image.get("alt", "").startswith("Photo of where the mark of the")
        assert image.get("loading") == "lazy"
    return [image.get("src", "") for image in found]


def stand_elsewhere(club: DemoClub) -> None:
    """The bars at other marks, so that something is to be set for the first."""
    with club.work(writes=True) as session:
        apparatus.read_off(session, 1, (2, 2, 20), "")
        desk_rotation.order_anew(session, 1)


class TestTheModelsPage:
    def test_shows_words_and_photo_of_each_adjustment(self, demo_pages: Reader) -> None:
        page = say(demo_pages, photo=jpeg())
        assert page.heading == "Hall frame A"
        assert AT_SLEEVE in page.text
        [address] = pictures(page)
        shown = demo_pages.client.get(address)
        assert shown.headers["Content-Type"] == "image/jpeg"
        assert page.text.count("Nothing is said yet") == 2

    def test_a_photo_is_replaced_and_taken_away(self, demo_pages: Reader) -> None:
        [first] = pictures(say(demo_pages, photo=jpeg()))
        [other] = pictures(say(demo_pages, photo=jpeg(80, 60)))
        assert demo_pages.client.get(first).status_code == 404
        assert pictures(say(demo_pages, away="y")) == []
        assert demo_pages.client.get(other).status_code == 404

    def test_what_is_no_photo_is_said_and_the_words_stay(self, demo_pages: Reader) -> None:
        page = say(demo_pages, photo=b"<script>alert(1)</script>")
        assert page.status == 400
        assert "no JPEG or PNG picture" in page.mistakes[0]
        assert page.value("words") == AT_SLEEVE

    def test_a_photo_waits_while_the_words_are_put_right(self, demo_pages: Reader) -> None:
        """No browser chooses a file a second time."""
        page = say(demo_pages, "x" * 121, photo=jpeg())
        assert page.status == 400
        assert len(pictures(page.send(SAVE, words=AT_SLEEVE))) == 1

    def test_another_photo_meanwhile_is_told_before_it_is_replaced(
        self, demo_pages: Reader
    ) -> None:
        page = demo_pages.get(ADDRESS)
        [theirs] = pictures(say(demo_pages, photo=jpeg()))
        late = page.send(SAVE, words=AT_SLEEVE, photo=(BytesIO(jpeg(80, 60)), "mark.jpg"))
        assert late.status == 400
        assert "Somebody has changed the photo" in late.mistakes[0]
        assert pictures(late) == [theirs]
        assert pictures(late.send(SAVE)) != [theirs]

    def test_no_such_adjustment_is_not_there(self, demo_pages: Reader) -> None:
        assert demo_pages.get("/apparatus/models/1/marks/table").status in (400, 404, 409)


class TestTheStep:
    def test_shows_it_folded_away_at_the_bars(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """Nobody waits for a photo that they need not look at."""
        say(demo_pages, photo=jpeg())
        stand_elsewhere(demo_club)
        page = demo_pages.get("/rotations/1").send("Take it to the bars")
        while not pictures(page):
            said = [words(button) for button in page.tree.iter("button")]
            page = page.send(next(one for one in said if one.startswith("Done")))
        [folded] = [one for one in page.tree.iter("details") if one.get("id", "")[:6] == "where-"]
        assert "open" not in folded.attrib
        assert AT_SLEEVE in page.text
