"""What a first evening does not ask: it stands in as a guess, and is asked for where it counts."""

import pytest

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.squad import settings
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.hall.models import ApparatusModel, Guess
from settingsdesk.domain.settings.transfer import transfer
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.web.hall.test_starters import MARKS, with_bars
from tests.web.pages import Page, Reader
from tests.web.walked import walked

CHANGE = "/apparatus/models/1/change"
WAY = "Enter the section of Uneven bars, plain"
BEFORE = "another drop would move its lengths by centimetres"


@pytest.fixture
def bars(pages: Reader) -> Page:
    """Bars from a starter, and one athlete with a setting on them."""
    typed = {f"{axis}0": mark for axis, mark in MARKS.items()}

    def walk(pages: Reader) -> Page:
        return with_bars(pages).send("Add these athletes", given0="Ana", family0="Neu", **typed)

    return walked(pages, "bars and an athlete", walk)


def kept(store: Store, account: Account) -> ApparatusModel:
    with store.work(account.club_id, writes=False) as session:
        [version] = models.all_models(session)
    return version.model


class TestTheSectionOfTheRail:
    @pytest.mark.parametrize(
        "address",
        [
            "/athletes/1/settings/1?heights=floor-centre&spread=inner",
            "/athletes/1/settings/1?heights=floor-upper&spread=centres_diagonal",
        ],
    )
    def test_is_asked_for_where_a_length_hangs_on_it(
        self, pages: Reader, bars: Page, address: str
    ) -> None:
        """Two centimetres too high for whoever measures to the centre of a thick rail."""
        page = pages.get(address)
        assert page.status == 409
        assert page.links[WAY] == CHANGE + "#section_height"

    def test_is_asked_for_where_a_tape_is_laid_to_it(self, pages: Reader, bars: Page) -> None:
        page = pages.get("/apparatus/1/calibrations/take/low_rail")
        taped = {"mark_1": "1", "length_1": "143", "mark_2": "3", "length_2": "153"}
        page = page.send("Work it out", datum="floor-centre", mark_3="5", length_3="163", **taped)
        assert page.links[WAY] == CHANGE + "#section_height"

    def test_is_no_matter_of_lengths_to_the_upper_edge(self, pages: Reader, bars: Page) -> None:
        page = pages.get("/athletes/1/settings/1?heights=floor-upper&spread=inner")
        assert page.status == 200

    def test_is_asked_for_where_a_scale_is_read_to_it(self, pages: Reader, bars: Page) -> None:
        page = pages.get(CHANGE).send("Save the model", low_rail_edge="centre", reason="looked")
        assert page.links_of_mistakes.popitem()[1] == "#section_height"

    def test_once_entered_is_no_guess_any_more(
        self, pages: Reader, bars: Page, store: Store, account: Account
    ) -> None:
        page = pages.get(CHANGE)
        assert page.value("section_height") == ""
        assert "Taken as 4.0 cm by 4.0 cm until you enter it." in page.text
        half = page.send("Save the model", section_height="3.9", reason="taped")
        assert half.mistakes == ["Enter the width of the rail's section, or clear its height"]
        page.send("Save the model", section_height="3.9", section_width="3.9", reason="taped")

        model = kept(store, account)
        assert model.guessed == {Guess.DROP}
        assert model.section is not None
        assert model.section.height_mm == 39
        assert pages.get("/athletes/1/settings/1?heights=floor-centre&spread=inner").status == 200

    def test_is_not_needed_for_a_model_from_a_leaflet_either(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        page = pages.get("/apparatus/models/new/horizontal_bar")
        typed = {"name": "Bar", "rail_first": "240", "rail_pitch": "5", "rail_count": "9"}
        page.send("Save the model", **typed, rail_label="1", rail_may_differ="1")
        assert kept(store, account).guessed == {Guess.SECTION}


class TestTheDropOfSlantingRails:
    @pytest.mark.parametrize(
        "address", ["/apparatus/1", "/apparatus/models/1", "/cards/1", "/rotations/new/1"]
    )
    def test_is_asked_for_where_marks_of_the_spread_are_about_to_be_used(
        self, pages: Reader, bars: Page, address: str
    ) -> None:
        page = pages.get(address)
        assert BEFORE in page.text
        assert page.links["Enter the drop of Uneven bars, plain"] == CHANGE + "#reference_drop"

    def test_once_entered_is_no_guess_any_more(
        self, pages: Reader, bars: Page, store: Store, account: Account
    ) -> None:
        page = pages.get(CHANGE)
        assert page.value("reference_drop") == ""
        page.send("Save the model", name="Bars, plain", reason="another name")
        assert Guess.DROP in kept(store, account).guessed

        pages.get(CHANGE).send("Save the model", reference_drop="84.5", reason="leaflet")
        assert Guess.DROP not in kept(store, account).guessed
        assert BEFORE not in pages.get("/cards/1").text

    def test_travels_as_a_guess_with_the_apparatus(
        self, pages: Reader, bars: Page, store: Store, account: Account
    ) -> None:
        """Another hall is told what this one never measured."""
        with store.work(account.club_id, writes=False) as session:
            [piece] = apparatus.all_pieces(session)
        content = pages.client.get("/apparatus-sheets/sheet.json?hall=Main&apparatus=1").json
        assert content["apparatus"][0]["model"]["guessed"] == ["drop", "section"]
        assert piece.model.guesses_drop


class TestSettingsThatWereTypedAsMarks:
    """The coach read hole 6 at the bars; that its height was taped wrong moves nobody's hole."""

    @pytest.mark.parametrize(
        "moved", [{"low_rail_first": "147.5"}, {"reference_drop": "84"}, {"low_rail_pitch": "4.9"}]
    )
    @pytest.mark.parametrize("stay", [True, False])
    def test_keep_them_where_the_scale_is_corrected_unless_the_apparatus_was_changed(
        self,
        pages: Reader,
        bars: Page,
        store: Store,
        account: Account,
        moved: dict[str, str],
        stay: bool,
    ) -> None:
        before = self.wanted(store, account)
        page = pages.get(CHANGE)
        typed = {**moved, "reason": "taped again"} | ({} if stay else {"keep_marks": ""})
        page = page.send("Save the model", **typed)
        told = "1 setting keeps its marks; the lengths were worked out again."
        assert page.banners == ["The model is changed."] + [told] * stay

        after = self.wanted(store, account)
        assert (after.version, after.setting.axes == before.setting.axes) == (
            (2, False) if stay else (1, True)
        )
        fit = transfer(after.setting, kept(store, account)).best
        assert (
            {axis.axis.key: axis.mark for axis in fit.axes} == {**MARKS, "spread": "160.0"}
        ) or not stay
        assert after.as_read == before.as_read

    def wanted(self, store: Store, account: Account) -> SettingVersion:
        with store.work(account.club_id, writes=False) as session:
            found = settings.latest(session, 1, 1)
        assert found is not None
        return found

    def test_have_no_further_version_where_no_length_moves(
        self, pages: Reader, bars: Page, store: Store, account: Account
    ) -> None:
        page = pages.get(CHANGE).send("Save the model", walk_round="12", reason="timed")
        assert page.banners == ["The model is changed."]
        assert self.wanted(store, account).version == 1

    def test_are_not_asked_about_where_there_are_none(self, pages: Reader) -> None:
        with_bars(pages)
        assert pages.get(CHANGE).having("name", "keep_marks") == []
