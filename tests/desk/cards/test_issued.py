"""Issuing cards, printing them again, and what a scan says of an old one."""

import json
import re
import sqlite3
from contextlib import closing
from datetime import date

import pytest

from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.desk.cards import in_hand, text
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.cards.in_hand import NoSuchCard
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, calibrations
from settingsdesk.desk.hall.calibrations import Taped
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.sentences import Sentence, recognised
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import Card
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.errors import NotInThisClub
from tests.conftest import DemoClub, new_account, read_inches
from tests.databases import of_files
from tests.desk.cards.scanning import scanned

CODE_KEY = CodeKey(b"k" * 32, "http://desk.example:5000/")
TONIGHT = 1


def issue(club: DemoClub, how_many: int = 1, *, with_club: bool = False) -> list[Card]:
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, TONIGHT)
        ids = [member.id for member in view.listed[:how_many]]
        return desk_issued.issue(session, CODE_KEY, view.piece.id, ids, with_club=with_club)


def change_spread(club: DemoClub, spread_mm: int) -> None:
    change(club, "spread", Wanted(spread_mm))


def change(club: DemoClub, axis: str, wanted: Wanted) -> None:
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, TONIGHT)
        first = view.carried[view.piece.id][view.listed[0].id].version
        setting = Setting(first.setting.kind, {**first.setting.axes, axis: wanted})
        settings.keep_setting(session, first.athlete_id, first.model_id, setting)


def code_of(card: Card) -> str:
    return card.url.rsplit("/", 1)[1]


def written_over(club: DemoClub, now: str, before: str) -> None:
    """The one card on record in the words of before."""
    now, before = (json.dumps(words)[1:-1] for words in (now, before))
    with (
        sqlite3.connect(club.data.path / "settingsdesk.sqlite3") as base,
        closing(base.cursor()) as asked,
    ):
        [kept] = asked.execute("SELECT content FROM card").fetchone()
        assert now in kept
        asked.execute("UPDATE card SET content = ?", (kept.replace(now, before),))


class TestIssuing:
    def test_a_card_says_mark_and_length_with_datum_and_what_is_accepted(
        self, demo_club: DemoClub
    ) -> None:
        [card] = issue(demo_club)

        low = card.lines[0]
        assert (low.axis, low.mark, low.length) == ("Low rail height", "5", "170.4 cm")
        assert low.datum == "upper edge of the rail, above the floor"
        assert low.accepts == "± 1.0 cm"
        assert low.note == "170.0 cm is wanted"
        assert card.scale_used == "taped here in part, 6 September 2025"
        assert (card.version, card.issued_on) == (1, today())

    def test_it_carries_given_name_and_initial_and_no_club_unless_asked(
        self, demo_club: DemoClub
    ) -> None:
        [card] = issue(demo_club)
        assert (card.name, card.club) == ("Jagna B.", "")

        [card] = issue(demo_club, with_club=True)
        assert card.club == "Quillmoor Gymnastics Club"

    def test_an_unchanged_card_is_printed_again_with_its_code(self, demo_club: DemoClub) -> None:
        """A reprint must not make the card in the athlete's bag look old."""
        assert issue(demo_club) == issue(demo_club)

    @of_files  # no unit of work changes a card, so its row is changed in the file
    @pytest.mark.parametrize(
        "printed",
        [
            "own calibration of 8 March 2026",
            "own calibration of 6 September 2025 to 8 March 2026",
        ],
    )
    def test_one_that_tells_the_calibrations_in_the_words_of_before_is_not_out_of_date(
        self, demo_club: DemoClub, printed: str
    ) -> None:
        """The first cards name only the newest day; what is to be set by them is the same."""
        with demo_club.work(writes=True) as session:
            piece = desk_rotation.rotation(session, TONIGHT).piece
            [axis] = [one for one in piece.model.axes if one.key not in piece.own_scales]
            ends = (0, axis.scale.count // 2, axis.scale.count - 1)
            taped = [Taped(axis.scale.label(at), axis.scale.length_mm(at)) for at in ends]
            fitted = apparatus.try_on_piece(piece, axis.key, taped)
            calibrations.keep_calibration(session, piece.id, axis.key, fitted, date(2026, 3, 8))
        [card] = issue(demo_club)
        assert card.scale_used == "taped here, 6 September 2025 to 8 March 2026"
        written_over(demo_club, card.scale_used, printed)

        [again] = issue(demo_club)
        assert (again.version, again.url) == (1, card.url)

    @of_files  # as above
    def test_one_whose_inches_were_kept_with_usual_blanks_is_not_out_of_date(
        self, demo_club: DemoClub
    ) -> None:
        """They stand on one line now; what is to be set by the card is the same."""
        with demo_club.work(writes=True) as session:
            read_inches(session)
        [card] = issue(demo_club)
        assert card.lines[0].length == "67\u00a01/8\u00a0in"
        written_over(demo_club, "\u00a0", " ")

        [again] = issue(demo_club)
        assert (again.version, again.url, again.lines) == (1, card.url, card.lines)
        assert scanned(demo_club, code_of(card)).current

    @of_files  # as above
    def test_one_that_rounds_what_is_accepted_to_the_nearest_eighth_is_not_out_of_date(
        self, demo_club: DemoClub
    ) -> None:
        """So the first cards did; printed again, it accepts no more than was said."""
        change(demo_club, "low_rail", Wanted(1700, accepts_mm=15))
        with demo_club.work(writes=True) as session:
            read_inches(session)
        [card] = issue(demo_club)
        assert card.lines[0].accepts == "± 1/2\u00a0in"
        written_over(demo_club, "± 1/2\u00a0in", "± 5/8 in")
        assert scanned(demo_club, code_of(card)).current

        [again] = issue(demo_club)
        assert (again.version, again.url, again.lines) == (1, card.url, card.lines)
        with demo_club.work() as session:
            [printed] = desk_issued.printed(
                session,
                CODE_KEY,
                desk_rotation.rotation(session, TONIGHT).piece.id,
                [in_hand.find(session, CODE_KEY, card.short_code).athlete_id],
            )
        assert printed.lines == card.lines

    def test_one_in_the_unit_that_the_club_had_before_counts_and_is_made_anew_in_its_own(
        self, demo_club: DemoClub
    ) -> None:
        """The club reads inches now: what is set by the card is the same, whatever else it says."""
        [card] = issue(demo_club)
        with demo_club.work(writes=True) as session:
            read_inches(session)
        assert scanned(demo_club, code_of(card)).current

        [again] = issue(demo_club)
        assert (again.version, again.lines[0].length) == (2, "67\u00a01/8\u00a0in")
        change_spread(demo_club, 1600)
        assert not scanned(demo_club, code_of(again)).current

    def test_a_changed_setting_makes_a_new_version_with_another_code(
        self, demo_club: DemoClub
    ) -> None:
        [old] = issue(demo_club)
        change_spread(demo_club, 1550)
        [new] = issue(demo_club)

        assert new.version == 2
        assert new.url != old.url
        assert new.short_code != old.short_code

    def test_the_address_is_all_capitals_so_that_the_symbol_stays_small(
        self, demo_club: DemoClub
    ) -> None:
        [card] = issue(demo_club)

        assert card.url.startswith("HTTP://DESK.EXAMPLE:5000/C/")
        assert card.url == card.url.upper()

    @of_files  # the rows are the same on a server, and here every byte is read
    def test_the_database_keeps_no_code_in_the_clear(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        demo_club.store.close()

        files = demo_club.data.path.glob("settingsdesk.sqlite3*")
        kept = b"".join(file.read_bytes() for file in files)
        assert b"Jagna" in kept
        assert code_of(card).encode() not in kept
        assert card.short_code.encode() not in kept

    def test_a_name_that_cannot_be_printed_is_told_before_anything_is_issued(
        self, demo_club: DemoClub
    ) -> None:
        """Never a box where a name should be, nor half of the cards made."""
        with demo_club.work(writes=True) as session:
            second = desk_rotation.rotation(session, TONIGHT).listed[1]
            athletes.change(session, second.id, Person("林", "美"))
        with pytest.raises(CharacterNotInFont) as refused:
            issue(demo_club, 3)

        assert "U+7F8E" in str(refused.value)
        with demo_club.work() as session:
            assert desk_issued.of_athlete(session, second.id) == []


class TestWhatIsKept:
    @pytest.mark.parametrize("unit", Unit)
    @pytest.mark.parametrize("form", text.FORMS)
    def test_every_sentence_is_known_again_for_what_it_is(self, form: str, unit: Unit) -> None:
        """In one that was taken for another no number would be said in the reader's language."""
        places = re.findall(r"%\((\w+)\)s", form)
        lengths = {name: length_in_words(1697 + place, unit) for place, name in enumerate(places)}
        told = Sentence(form, **lengths)

        again = recognised(str(told), text.FORMS)

        assert isinstance(again, Sentence)
        assert (again.form, again) == (form, told)
        assert all(isinstance(fact, Sentence) for fact in again.facts.values())


class TestScanning:
    def test_a_fresh_card_is_current(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)

        seen = scanned(demo_club, code_of(card))

        assert seen.current
        assert (seen.name, seen.now.lines) == ("Jagna B.", card.lines)

    def test_lower_case_opens_the_same_card(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)

        assert scanned(demo_club, code_of(card).lower()).current

    def test_an_older_card_says_what_has_changed_and_since_when(self, demo_club: DemoClub) -> None:
        [old] = issue(demo_club)
        change_spread(demo_club, 1550)
        issue(demo_club)

        seen = scanned(demo_club, code_of(old))

        assert not seen.current
        assert (seen.newest_version, seen.newest_on) == (2, today())
        assert [difference.axis for difference in seen.differences] == ["Rail spread"]
        assert seen.now.lines[2].mark == "155.0"

    def test_a_changed_setting_shows_although_no_newer_card_was_printed(
        self, demo_club: DemoClub
    ) -> None:
        """An old height must never look current because nobody has been to the printer."""
        [card] = issue(demo_club)
        change_spread(demo_club, 1550)

        seen = scanned(demo_club, code_of(card))

        assert not seen.current
        assert seen.newest_version == seen.version == 1

    def test_another_wish_shows_although_the_marks_stay_the_same(self, demo_club: DemoClub) -> None:
        """What is wanted is printed on the card too: whoever tapes it would set the old wish."""
        [card] = issue(demo_club)
        change(demo_club, "low_rail", Wanted(1680, accepts_mm=10))

        seen = scanned(demo_club, code_of(card))

        [difference] = seen.differences
        assert difference.printed == "mark 5, 170.4 cm, ± 1.0 cm. 170.0 cm is wanted"
        assert difference.now.endswith("Outside what is accepted: 168.0 cm is wanted")

    def test_it_answers_in_the_marks_of_the_apparatus_asked_for(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        here = scanned(demo_club, code_of(card))
        door = next(piece for piece in here.elsewhere if piece.name == "Bars by the door")

        seen = scanned(demo_club, code_of(card), door.id)

        assert seen.now.apparatus == "Bars by the door"
        assert seen.now.lines[0].mark.isalpha()

    def test_an_apparatus_of_another_kind_is_not_shown(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        assert all(
            piece.model.kind.key == "uneven_bars"
            for piece in scanned(demo_club, code_of(card)).elsewhere
        )

    def test_an_unknown_code_opens_nothing(self, demo_club: DemoClub) -> None:
        with pytest.raises(NoSuchCard):
            scanned(demo_club, "A" * 26)

    def test_a_withdrawn_card_opens_nothing(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        with demo_club.work(writes=True) as session:
            found = in_hand.find(session, CODE_KEY, card.short_code)
            desk_issued.revoke(session, found.id)

        with pytest.raises(NoSuchCard):
            scanned(demo_club, code_of(card))

    def test_after_withdrawal_the_next_card_has_another_code(self, demo_club: DemoClub) -> None:
        [lost] = issue(demo_club)
        with demo_club.work(writes=True) as session:
            found = in_hand.find(session, CODE_KEY, lost.short_code)
            desk_issued.revoke(session, found.id)
        [new] = issue(demo_club)

        assert new.version == 2
        assert scanned(demo_club, code_of(new)).current

    def test_who_has_left_is_shown_to_nobody(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        with demo_club.work(writes=True) as session:
            found = in_hand.find(session, CODE_KEY, card.short_code)
            athletes.leave(session, found.athlete_id, today())

        with pytest.raises(NoSuchCard):
            scanned(demo_club, code_of(card))


class TestShortCodes:
    @pytest.mark.parametrize("spelt", ["{0}", "{1}"], ids=["typed", "scanned"])
    def test_either_code_finds_the_card(self, demo_club: DemoClub, spelt: str) -> None:
        [card] = issue(demo_club)
        with demo_club.work() as session:
            code = spelt.format(card.short_code, code_of(card))
            found = in_hand.find(session, CODE_KEY, code)

        assert found.version == 1

    def test_another_club_finds_nothing_by_it(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        other = new_account(demo_club.store, "Far Shore Gymnastics", "odo", "Odo Fenn")
        with demo_club.work() as session:
            issued = in_hand.find(session, CODE_KEY, card.short_code)

        with demo_club.store.work(other.club_id, writes=False) as session:
            with pytest.raises(NoSuchCard):
                in_hand.find(session, CODE_KEY, card.short_code)
            with pytest.raises(NotInThisClub):
                desk_issued.issued(session, issued.id)


class TestNamesakesInTheSquad:
    def test_are_told_apart_whoever_else_is_printed_beside_them(self, demo_club: DemoClub) -> None:
        """Two of one name, and one of them on the marks of the other."""
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, TONIGHT)
            first = view.listed[0]
            family = f"{first.person.family_name[0]}rixenbourg"
            other = athletes.add(session, Person(family, first.person.given_name))
            own = view.carried[view.piece.id][first.id].version
            settings.keep_setting(session, other.id, own.model_id, own.setting)
            alone = desk_issued.issue(session, CODE_KEY, view.piece.id, [other.id])
            both = desk_issued.issue(session, CODE_KEY, view.piece.id, [first.id, other.id])
        assert first.printed_name == "Jagna B."
        assert len({card.name for card in both}) == 2
        assert "Jagna B." not in {card.name for card in both}
        assert alone == both[1:]

    def test_it_says_from_which_end_it_is_drawn(self, demo_club: DemoClub) -> None:
        [card] = issue(demo_club)
        with demo_club.work() as session:
            piece = desk_rotation.rotation(session, TONIGHT).piece
        assert card.seen_from == piece.seen_from != ""
