"""How errors are said, wherever they come from."""

from collections.abc import Iterator

import pytest
from flask import Flask

from settingsdesk.web.frame import security
from tests.web.pages import Reader


class TestErrors:
    @pytest.fixture
    def at_the_sample(self, sampled: Flask, sampled_pages: Reader) -> Iterator[Reader]:
        """The coach, where things go wrong on request."""
        before = sampled.config["PROPAGATE_EXCEPTIONS"]
        sampled.config["PROPAGATE_EXCEPTIONS"] = False
        yield sampled_pages
        sampled.config["PROPAGATE_EXCEPTIONS"] = before

    @pytest.mark.parametrize(
        ("kind", "status", "sentence"),
        [
            ("refused", 400, "The high rail stands at hole 6, not 7; read the mark again."),
            (
                "absent",
                404,
                "This club has no athlete with the number 12. Look for it in the list.",
            ),
            ("busy", 503, "Others were saving for 5 seconds without a gap"),
            ("given_up", 503, "The database was busy with something else at the same moment"),
            ("away", 503, "The database does not answer just now, so nothing was saved"),
            ("full", 507, "The disk is full, so nothing was changed. Make room on it"),
        ],
    )
    def test_a_refusal_is_said_in_its_own_words(
        self, at_the_sample: Reader, kind: str, status: int, sentence: str
    ) -> None:
        """Pages, command line and paper say the same sentence."""
        page = at_the_sample.get(f"/sample/wrong/{kind}")

        assert page.status == status
        assert sentence in page.text

    @pytest.mark.parametrize("kind", ["busy", "given_up", "away"])
    def test_what_passes_says_when_to_try_again(self, at_the_sample: Reader, kind: str) -> None:
        """A phone sends its confirmation again after that; a 400 it would take for a refusal."""
        page = at_the_sample.get(f"/sample/wrong/{kind}")

        assert page.response.headers["Retry-After"] == "5"

    @pytest.mark.parametrize("status", [400, 403, 404, 405, 413, 418, 500])
    def test_every_error_has_a_page_that_says_what_to_do(
        self, at_the_sample: Reader, status: int
    ) -> None:
        """In the frame, with a way on."""
        page = at_the_sample.get(f"/sample/wrong/{status}")

        assert page.status == status
        assert page.links["Go to the first page"] == "/"

    def test_a_mistake_of_ours_shows_no_detail(
        self, at_the_sample: Reader, caplog: pytest.LogCaptureFixture
    ) -> None:
        """It is written to the log instead."""
        page = at_the_sample.get("/sample/wrong/broken")

        assert (page.status, page.heading) == (500, "Something went wrong here")
        assert "secret detail" not in page.response.text
        assert "Traceback" not in page.response.text
        assert "a secret detail" in caplog.text

    def test_when_it_cannot_be_told_who_asks_nothing_is_shown(
        self, at_the_sample: Reader, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A broken check of the session closes the desk, it does not open it."""

        def fails(*_: object) -> None:
            raise RuntimeError("the check is broken")

        monkeypatch.setattr(security, "still_signed_in", fails)

        page = at_the_sample.get("/account")

        assert page.status == 500
        assert "edda" not in page.response.text.casefold()
