"""Every refusal that a stranger's page or paper can show is in the catalogue, with its facts."""

from collections.abc import Mapping
from datetime import date
from types import SimpleNamespace

import pytest

from settingsdesk.cards.symbol import AddressTooLong, CharacterNotInSymbol
from settingsdesk.desk.accounts.failed_tries import TooManyAttempts
from settingsdesk.desk.cards.in_hand import CardHasEnded, NoSuchCard
from settingsdesk.desk.cards.remarks import NothingSaid, RemarkTooLong, TooManyRemarks
from settingsdesk.desk.hall.apparatus import DropUnknown, SetupUnknown
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.runs.presses import NoSuchWord
from settingsdesk.desk.runs.refusals import (
    ConfirmedMeanwhile,
    NoOrderToRun,
    NothingSaidToBeWrong,
    NoTurnThere,
    RunUnderWay,
    SaidAtLength,
    ScaleChanged,
)
from settingsdesk.desk.squad.athletes import NameNotPrintable, NameTooLong
from settingsdesk.desk.stations.at_station import NotThisStation
from settingsdesk.desk.stations.card_verdict import StationsCode
from settingsdesk.desk.stations.stations import (
    NoSuchStation,
    StationIsFull,
    VolunteerUnnamed,
)
from settingsdesk.domain.base.codes import (
    CharacterInNoCode,
    CheckCharacterDoesNotFit,
    ShortCodeLength,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.crew import NotACrew
from settingsdesk.domain.changeover.run import NotNow
from settingsdesk.domain.hall.scales import NoSuchLabel
from settingsdesk.domain.settings.lengths_line import (
    DigitCannotBeRight,
    LineDoesNotFit,
    LineLength,
    LineRefused,
    NewerLine,
    SignInNoLine,
)
from settingsdesk.domain.settings.settings import RailsInWrongOrder
from settingsdesk.store.errors import (
    DatabaseIsElsewhere,
    DeskIsBusy,
    NoRoomLeft,
    NotInThisClub,
)
from settingsdesk.web.cards.card_page import TooManyRemarksNow
from settingsdesk.web.frame import errors
from settingsdesk.web.stations import phone
from settingsdesk.web.stations.station_codes import TooManyCodes
from settingsdesk.words.language import ENGLISH
from tests.words.pseudo import marked_language, outside, plain

BARS = KINDS["uneven_bars"]
MODEL = SimpleNamespace(name="Leo", middle_drop_mm=700.0)
SLANTING = SimpleNamespace(name="Leo", model_id=1, printed=SimpleNamespace(model=MODEL))
REFUSALS: Mapping[str, SettingsDeskError] = {
    type(refusal).__name__: refusal
    for refusal in (
        AddressTooLong("HTTPS://7"),
        CardHasEnded(date(2026, 11, 24)),
        CharacterInNoCode("7I", "?", 2),
        CharacterNotInSymbol("HTTPS://7", "?"),
        CheckCharacterDoesNotFit("7KM4Q2XPR"),
        ConfirmedMeanwhile("Ivo (station)", None),
        DatabaseIsElsewhere("desk.sqlite3"),
        DeskIsBusy(5.0),
        DigitCannotBeRight(4, Sentence("every line begins with %(digit)s", digit="1"), 3),
        DropUnknown(SLANTING),
        LineDoesNotFit("11-1700-2500-1650-33", (3, 16)),
        LineLength(BARS, 16, 15),
        NameNotPrintable("Leo"),
        NameTooLong("Leo"),
        NewerLine(),
        NoOrderToRun("Leo", "Leo"),
        NoRoomLeft(),
        NoSuchCard(),
        NoSuchLabel("12", "1", "9", 9),
        NoSuchStation(),
        NoSuchWord(),
        NoTurnThere("Leo", "Leo"),
        NotACrew(3),
        NotInThisClub("run", "7KM4 Q2XP R"),
        NothingSaid(),
        NothingSaidToBeWrong(),
        NotNow(Sentence("All steps of this change-over are confirmed already")),
        NotThisStation(),
        RailsInWrongOrder(BARS.axes[0], 2500, BARS.axes[1], 1700),
        RemarkTooLong(900),
        RunUnderWay("Leo", "Leo", 1),
        ScaleChanged("Leo", 1),
        SaidAtLength(900),
        SetupUnknown("Leo"),
        ShortCodeLength("7", 1),
        SignInNoLine("?", 2),
        StationIsFull(),
        StationsCode(),
        TooManyAttempts(61),
        TooManyCodes(61),
        TooManyRemarks(),
        TooManyRemarksNow(61),
        VolunteerUnnamed(),
    )
}
DATA = ("Leo", "Ivo", "7KM4 Q2XP R", "HTTPS://7", "11-1700-2500-1650-33")
"""The facts of those refusals that are names, marks and codes."""

ELSEWHERE = {WithdrawnFromUse}
"""Whose finding is the club's own affair: the station says that nothing was saved."""


class TestARefusal:
    @pytest.mark.parametrize("name", REFUSALS)
    def test_is_said_in_the_readers_language(self, name: str) -> None:
        refusal = REFUSALS[name]
        for told in (str(refusal), *(refusal.told(unit) for unit in Unit)):
            assert outside([marked_language().said(told)], DATA) == []

    @pytest.mark.parametrize("name", REFUSALS)
    def test_is_english_wherever_it_is_text(self, name: str) -> None:
        """A terminal, a log and the coach's pages show the same sentence unchanged."""
        told = str(REFUSALS[name])
        assert ENGLISH.said(told) == told
        assert "‹" not in told

    def test_of_every_class_that_a_station_shows_is_here(self) -> None:
        """Who adds one to the station's page finds out that it is to be translated."""
        shown = {*phone.REFUSED, *phone.NO_WAY_IN, *phone.MISTYPED} - ELSEWHERE
        shown |= set(LineRefused.__subclasses__())
        assert {kind.__name__ for kind in shown} <= REFUSALS.keys()


class TestAnErrorsPage:
    @pytest.mark.parametrize(
        "told", [*errors.HEADINGS.values(), *errors.WAYS_ON.values(), errors.FORM_TOO_OLD]
    )
    def test_is_said_in_the_readers_language(self, told: Sentence) -> None:
        said = marked_language().said(told)
        assert outside([said], ()) == []
        assert plain(said) == told
