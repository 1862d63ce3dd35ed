"""The crew sheet's page and the sheet at the post, in a marked language."""

from collections.abc import Iterator

import pytest
from flask import Flask

from tests.desk.sample_meet import BARS, SmallMeet
from tests.web.in_another_language import Walk, in_marked_words
from tests.web.pages import Reader

NAMES = (
    *("Almira O.", "Sunniva B.", "Noor H.", "Juniors", "Lantern Cup", "Main hall", BARS),
    *("Tarn Hollow GC", "Wexlow Turners", "Runa Calloway", "Runa", "Quillmoor Gymnastics Club"),
)


@pytest.fixture(autouse=True)
def walk(demo_app: Flask, held: SmallMeet, monkeypatch: pytest.MonkeyPatch) -> Iterator[Walk]:
    with in_marked_words(demo_app, NAMES, monkeypatch) as walk:
        yield walk


class TestWhatTheCrewIsGiven:
    @pytest.mark.parametrize("hands", ["", "?hands=1", "?hands=4"])
    def test_the_crew_sheet(self, demo_pages: Reader, held: SmallMeet, hands: str) -> None:
        assert demo_pages.get(f"/crew-sheets/{held.rotation_id}{hands}").status == 200

    def test_the_sheet_at_the_post_open_and_closed(
        self, demo_pages: Reader, held: SmallMeet
    ) -> None:
        page = demo_pages.get(f"/stations/sessions/{held.session_id}")
        page = page.send(f"Open the station at {BARS}", hours="4")
        sheet = f"{page.address}/sheet"
        demo_pages.get(sheet)
        page.send("Close the station now")

        assert demo_pages.get(sheet).status == 200
