"""What the application as a whole is set to: its bounds and its cookie."""

from http.cookies import SimpleCookie

from settingsdesk.config import DataFolder, Front
from settingsdesk.desk.cards.code_address import Reach
from settingsdesk.sheets.guard import MOST_BYTES as MOST_OF_A_SHEET
from settingsdesk.store.work import Store
from settingsdesk.web.app import create_app
from settingsdesk.web.frame.bodies import MOST_REQUEST_BYTES
from tests.web.pages import Reader


class TestBounds:
    def test_more_than_12_megabytes_is_refused(self, pages: Reader) -> None:
        """With a page that names the limit of a sheet, the largest that a form may carry."""
        page = pages.post("/account", {"present": b"x" * (MOST_REQUEST_BYTES + 1)})

        assert page.status == 413
        assert f"{MOST_OF_A_SHEET // 1_000_000} megabytes" in page.text


class TestTheCookie:
    def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(self, stranger: Reader) -> None:
        """HttpOnly and SameSite=Lax."""
        cookie = SimpleCookie(stranger.client.get("/sign-in").headers["Set-Cookie"])["settingsdesk"]

        assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Lax", "/")

    def test_where_the_desk_is_reached_by_https_the_cookie_never_travels_in_the_clear(
        self, data: DataFolder, store: Store
    ) -> None:
        """And the browser is told to stay with https for a year."""
        reach = Reach("https://desk.example.org", from_phones=True)
        secure = create_app(data=data, store=store, reach=reach, front=Front(https=True))

        answer = secure.test_client().get("/sign-in", base_url="https://desk.example.org")

        cookie = SimpleCookie(answer.headers["Set-Cookie"])["__Host-settingsdesk"]
        assert cookie["secure"]
        assert not cookie["domain"]
        policy = answer.headers["Strict-Transport-Security"]
        assert policy == "max-age=31536000; includeSubDomains"
