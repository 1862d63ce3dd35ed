"""A list being kept, whichever way it came in: in as many statements as it has tables."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Engine, event
from sqlalchemy.orm import Session

from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.answers import Answers, name_key
from settingsdesk.desk.lists.destinations import MeetEntries, Squad
from settingsdesk.desk.meets import entries, meets, unsettled_lines
from settingsdesk.desk.meets.meets import MeetFacts
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.settings.settings import Wanted
from tests.conftest import DemoClub

OWN = "Surname;First name;Apparatus model;Low bar (cm);High bar (cm);Spread (cm)"
OURS = "Family name;Given name;Model;Low rail height (cm);High rail height (cm);Rail spread (cm)"
MOST_STATEMENTS = 40

Keep = Callable[[Session, str], None]


def listed(header: str, count: int, low_cm: int = 165) -> str:
    rows = [f"Family{at};Given{at};Hall frame A;{low_cm};24{at % 10};150" for at in range(count)]
    return "\n".join([header, *rows])


def into_squad(session: Session, rows: str) -> None:
    taker = Squad(session)
    seen = coach_lists.look(session, taker, rows.encode(), "own.csv")
    coach_lists.take(session, taker, seen)


def into_meet(session: Session, rows: str) -> None:
    taker = MeetEntries(session, meets.all_meets(session)[0].id)
    seen = coach_lists.look(session, taker, rows.encode(), "own.csv", "Guests")
    coach_lists.take(session, taker, seen)


WAYS = [(into_squad, OWN), (into_meet, OWN), (into_squad, OURS)]


@pytest.fixture
def desk(demo_club: DemoClub) -> DemoClub:
    with demo_club.work(writes=True) as session:
        days = date(2031, 5, 16), date(2031, 5, 17), date(2031, 5, 20)
        meets.add_meet(session, MeetFacts("Spring meet", "Hall", *days))
    return demo_club


@contextmanager
def statements() -> Iterator[list[str]]:
    """Every statement that any database is asked meanwhile."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield asked
    event.remove(Engine, "before_cursor_execute", note)


def kept_in(club: DemoClub, keep: Keep, rows: str) -> int:
    with statements() as asked, club.work(writes=True) as session:
        keep(session, rows)
    return len(asked)


class TestStatements:
    @pytest.mark.parametrize(("keep", "header"), WAYS)
    def test_a_longer_list_takes_no_more_of_them(
        self, desk: DemoClub, keep: Keep, header: str
    ) -> None:
        """One for each athlete, and the whole desk waits while a list of a large meet is kept."""
        kept_in(desk, keep, listed(header, 1))  # what is there is looked at, too
        short = kept_in(desk, keep, listed(header, 3))
        long = kept_in(desk, keep, listed(header, 300))
        changed = kept_in(desk, keep, listed(header, 300, low_cm=166))

        assert short == long <= MOST_STATEMENTS
        assert changed <= long


class TestWhatIsKept:
    @pytest.mark.parametrize(("keep", "header"), WAYS)
    def test_every_athlete_gets_the_setting_of_their_own_row(
        self, desk: DemoClub, keep: Keep, header: str
    ) -> None:
        """All rows go in together: whose is whose must not hang on luck."""
        kept_in(desk, keep, listed(header, 30))
        kept_in(desk, keep, listed(header, 30, low_cm=166))

        with desk.work() as session:
            squad = [(one.id, one.person) for one in athletes.find(session, "family")]
            guests = entries.entrants(session, meets.all_meets(session)[0].id)
            people = squad or [(one.member.id, one.member.person) for one in guests]
            assert len(people) == 30
            for athlete_id, person in people:
                at = int(person.family_name.removeprefix("Family"))
                newest, before = settings.history(session, athlete_id)
                assert person.given_name == f"Given{at}"
                assert (newest.version, before.version) == (2, 1)
                assert before.setting.axes["low_rail"] == Wanted(1650)
                assert newest.setting.axes["low_rail"] == Wanted(1660)
                assert newest.setting.axes["high_rail"] == Wanted(2400 + at % 10 * 10)
                assert newest.as_read["low_rail"].startswith("166")


class TestSentAgain:
    """A club sends its list once more with one new line: what was put right since stays right."""

    LIST = f"{OWN}\nMarsh;Ida;Hall frame A;165;245;170\nQuell;Ada;Hall frame A;165;245;170"

    def changed_by_hand(self, desk: DemoClub) -> int:
        with desk.work(writes=True) as session:
            into_squad(session, self.LIST)
            ida = next(one.id for one in athletes.find(session) if "Ida" in one.listed_name)
            [kept] = settings.current(session, ida)
            higher = replace(kept.setting.axes["high_rail"], wanted_mm=2500)
            setting = replace(kept.setting, axes={**kept.setting.axes, "high_rail": higher})
            settings.keep_setting(session, ida, kept.model_id, setting, "One hole up, she says")
        return ida

    def test_what_it_would_take_back_is_not_ticked_and_says_whose_change_it_is(
        self, desk: DemoClub
    ) -> None:
        ida = self.changed_by_hand(desk)
        with desk.work(writes=True) as session:
            taker = Squad(session)
            seen = coach_lists.look(session, taker, self.LIST.encode(), "own.csv")
            coach_lists.take(session, taker, seen)
            [version] = settings.current(session, ida)

        by_name = {one.person.given_name: one for one in seen.people}
        assert not by_name["Ida"].is_ticked
        assert "says again what Runa has changed on" in by_name["Ida"].why_not
        assert (by_name["Ada"].is_ticked, by_name["Ada"].why_not) == (True, "")
        assert version.setting.axes["high_rail"].wanted_mm == 2500
        assert ["Ida" in line.read for line in coach_lists.left_out(seen)] == [True]

    def test_ticked_it_is_taken_back(self, desk: DemoClub) -> None:
        self.changed_by_hand(desk)
        with desk.work() as session:
            plain = coach_lists.look(session, Squad(session), self.LIST.encode(), "own.csv")
            keys = [name_key(one.found.at) for one in plain.people]
            answers = Answers().with_page({}, dict.fromkeys(keys, True), "", {keys[0]})
            told = Answers.from_text(answers.as_text)
            seen = coach_lists.look(
                session, Squad(session), self.LIST.encode(), "own.csv", answers=told
            )
        assert [one.why_not for one in seen.people] == ["", ""]
        assert len(seen.changes) == 1

    def test_a_new_value_is_taken_as_ever(self, desk: DemoClub) -> None:
        self.changed_by_hand(desk)
        newer = self.LIST.replace("165;245", "165;251", 1)
        with desk.work() as session:
            seen = coach_lists.look(session, Squad(session), newer.encode(), "own.csv")
        assert [one.why_not for one in seen.people] == ["", ""]


class TestWhatAListAsksFor:
    def test_a_remark_with_a_figure_stays_for_the_host_to_see_to(self, desk: DemoClub) -> None:
        """“High rail 5 cm up asked for”, read on at the list, was forgotten."""
        rows = f"{OWN};Remark\nMarsh;Ida;Hall frame A;165;245;170;high rail 5 cm up asked for"
        with desk.work(writes=True) as session:
            taker = MeetEntries(session, meets.all_meets(session)[0].id)
            plain = coach_lists.look(session, taker, rows.encode(), "own.csv", "Guests")
            [note] = [one for one in plain.preview.notes if one.choices]
            answers = Answers({note.key: "read"})
            seen = coach_lists.look(
                session, taker, rows.encode(), "own.csv", "Guests", answers=answers
            )
            assert coach_lists.take(session, taker, seen) == (1, 1)
            [line] = unsettled_lines.still_open(session, meets.all_meets(session)[0].id)

        assert "high rail 5 cm up asked for" in line.line.read
        assert line.line.why == coach_lists.REMARK_WITH_A_FIGURE
