"""A family's wish: what was kept of one person is gone, what was done at the bars is not."""

import io
import json
import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import create_engine, select, text, update

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import in_hand, issued, remarks
from settingsdesk.desk.cards.in_hand import NoSuchCard
from settingsdesk.desk.checks import findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.photos import read_photo
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.meet_day import crew_sheets
from settingsdesk.desk.meets import erasing, same_person
from settingsdesk.desk.meets.same_person import AtTheBarsNow
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person, WasErased
from settingsdesk.domain.changeover.happenings import Ended
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.base import Base, utc_now
from settingsdesk.store.cards import Card
from settingsdesk.store.engine import database_url
from settingsdesk.store.errors import DeskIsBusy
from settingsdesk.store.left_out import LeftOut
from settingsdesk.store.meets import Entry, RaiseRequest
from settingsdesk.store.runs import RunEvent
from settingsdesk.store.settings import Setting
from settingsdesk.store.work import Store
from tests.conftest import DemoClub, new_account
from tests.databases import SERVER, bytes_of, of_files, on_server
from tests.desk.runs.carrying_out import confirm, ordered, turn
from tests.desk.sample_meet import CODE_KEY, SmallMeet, hold

FAMILY, GIVEN, FOLDED = "Bąkiewicz", "Jagna", "bakiewicz"


def spellings(*names: str) -> Iterator[bytes]:
    """Each name as it may stand in a file: as it is, small, in JSON, and in two bytes a letter."""
    for name in names:
        for form in {name, name.lower(), name.upper()}:
            yield from {form.encode(), json.dumps(form)[1:-1].encode(), form.encode("utf-16-le")}


def all_bytes(data: DataFolder) -> dict[str, bytes]:
    """What is in every file of a desk, and of its database where a server keeps that."""
    files = [file for file in data.path.rglob("*") if file.is_file()]
    on_server = bytes_of(data.server) if data.server else {}
    return {file.name: file.read_bytes() for file in files} | on_server


def found_in(data: DataFolder, *names: str) -> list[str]:
    """The files in which any of the names stands, whatever else is in them."""
    sought = list(spellings(*names))
    return [
        name for name, content in all_bytes(data).items() if any(one in content for one in sought)
    ]


def put_everywhere(club: DemoClub) -> int:
    """Tonight's first athlete with a card, a remark, words in many places, and a run that ended."""
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        member = view.listed[0]
        athletes.change(
            session, member.id, Person(FAMILY, GIVEN, group_name="Girls 1", start_number="B-4711")
        )
        [card] = issued.issue(session, CODE_KEY, view.piece.id, [member.id])
        version = view.carried[view.piece.id][member.id].version
        settings.keep_setting(
            session, member.id, version.model_id, version.setting, f"{GIVEN} {FAMILY} has grown"
        )
        words = f"The pin was bent when {FAMILY} was on"
        findings.add_finding(session, view.piece.id, words, withdraws=False, press_key="1")
    remarks.receive(club.store, card.url.rpartition("/")[2], f"{FAMILY}: the low rail felt high")
    run_id = ordered(club, OrderRequest())
    turn(club, run_id)
    confirm(club, run_id, Ended())
    return member.id


def erase(club: DemoClub, athlete_id: int) -> None:
    with club.work(writes=True) as session:
        erasing.erase(session, athlete_id)
    club.store.leave_no_traces()


class TestWhatGoes:
    def test_the_name_is_nowhere_in_any_file_of_the_desk(self, demo_club: DemoClub) -> None:
        """Searched byte by byte, the write-ahead log and what was deleted before included."""
        athlete_id = put_everywhere(demo_club)
        sought = (FAMILY, FOLDED, GIVEN, "B-4711")
        assert found_in(demo_club.data, *sought)

        erase(demo_club, athlete_id)

        assert found_in(demo_club.data, *sought) == []

    def test_what_is_deleted_in_the_middle_of_a_page_is_gone_too(self, demo_club: DemoClub) -> None:
        """Rows that are moved between pages leave copies of themselves in between."""
        with demo_club.work(writes=True) as session:
            many = [Person(f"Vanishing{number:03}", "Xeniaxenia") for number in range(100)]
            ids = [one.id for one in athletes.add_all(session, many)]
        with demo_club.work(writes=True) as session:
            for athlete_id in ids:
                erasing.erase(session, athlete_id)
        demo_club.store.leave_no_traces()

        assert found_in(demo_club.data, "Vanishing", "Xeniaxenia") == []

    @on_server
    def test_the_server_tells_nobody_of_it_who_asks_for_usual_values(
        self, demo_club: DemoClub
    ) -> None:
        """It remembers some of them to choose how to look for rows."""
        athlete_id = put_everywhere(demo_club)
        asked = text(f"SELECT count(*) FROM pg_stats WHERE pg_stats::text LIKE '%{FAMILY}%'")  # noqa: S608
        with demo_club.store.installation(writes=True) as session:
            session.connection().execute(text("ANALYZE"))
            assert session.connection().scalar(asked)

        erase(demo_club, athlete_id)
        with demo_club.store.installation(writes=False) as session:
            assert session.connection().scalar(asked) == 0

    @on_server
    def test_who_still_sees_an_older_moment_is_waited_for_and_told(
        self, demo_club: DemoClub
    ) -> None:
        """What they can see cannot go; it goes with the next."""
        athlete_id = put_everywhere(demo_club)
        quick = Store(demo_club.data.where, wait_seconds=0.1)
        with quick.installation(writes=False) as sees_it:
            sees_it.scalar(select(Setting.id).limit(1))
            with demo_club.work(writes=True) as session:
                erasing.erase(session, athlete_id)
            with pytest.raises(DeskIsBusy):
                quick.leave_no_traces()
        assert found_in(demo_club.data, FAMILY)

        quick.leave_no_traces()
        quick.close()
        assert found_in(demo_club.data, FAMILY) == []

    @on_server
    def test_and_whoever_writes_in_another_database_of_the_server(
        self, demo_club: DemoClub
    ) -> None:
        """What is cleared up there may not count as over before they are done."""
        athlete_id = put_everywhere(demo_club)
        quick = Store(demo_club.data.where, wait_seconds=0.1)
        elsewhere = create_engine(database_url(SERVER))
        with elsewhere.begin() as connection:
            connection.execute(text("SELECT pg_current_xact_id()"))
            with demo_club.work(writes=True) as session:
                erasing.erase(session, athlete_id)
            with pytest.raises(DeskIsBusy):
                quick.leave_no_traces()
        quick.leave_no_traces()
        quick.close()
        elsewhere.dispose()
        assert found_in(demo_club.data, FAMILY) == []

    @of_files
    def test_a_group_of_an_evening_that_is_called_after_them_has_another_name(
        self, demo_club: DemoClub
    ) -> None:
        athlete_id = put_everywhere(demo_club)
        with demo_club.work(writes=True) as session:
            view = desk_rotation.rotation(session, 1)
            ids = [member.id for member in view.listed if member.id != athlete_id]
            groups = {f"{FAMILY}’s group": ids[:5], "Others": ids[5:]}
            asked = OrderRequest().with_groups(groups)
            made = desk_rotation.add_rotation(session, "", today(), view.piece.id, ids, asked)
            desk_rotation.order_anew(session, made.id)
            desk_run.begin(session, made.id, view.piece.id)
        erase(demo_club, athlete_id)

        assert found_in(demo_club.data, FAMILY, FOLDED, GIVEN) == []
        with demo_club.work() as session:
            then = desk_rotation.rotation(session, made.id)
        assert then.groups_to_come == (1,)
        assert FAMILY not in then.called_group(0)

    def test_settings_with_their_history_cards_remarks_and_entries_are_gone(
        self, demo_club: DemoClub
    ) -> None:
        athlete_id = put_everywhere(demo_club)
        erase(demo_club, athlete_id)

        with demo_club.work() as session:
            for table in (Setting, Card, Entry):
                asked = select(table).where(table.athlete_id == athlete_id)
                assert session.scalars(asked).all() == []
            assert [row for row in export_rows(session) if FAMILY in str(row)] == []
            assert athletes.find(session, "bakiewicz") == []
            assert athletes.find(session, "Athlete", left=True) == []

    def test_a_card_that_was_handed_out_opens_nothing(self, demo_club: DemoClub) -> None:
        athlete_id = put_everywhere(demo_club)
        with demo_club.work() as session:
            piece_id = desk_rotation.rotation(session, 1).piece.id
            [card] = issued.printed(session, CODE_KEY, piece_id, [athlete_id])
        erase(demo_club, athlete_id)

        with pytest.raises(NoSuchCard):
            in_hand.holder_of(demo_club.store, card.url.rpartition("/")[2])

    def test_what_a_list_said_of_a_guest_goes_and_the_crew_sheet_has_a_number(
        self, demo_club: DemoClub
    ) -> None:
        held = hold(demo_club)
        guest = held.guests[0].member
        with demo_club.work(writes=True) as session:
            for athlete_id in (guest.id, None):
                session.add(_line(held, athlete_id))
            session.add(_raise(held))
        erase(demo_club, guest.id)

        assert found_in(demo_club.data, "Osterkamp", "Almira") == []
        with demo_club.work() as session:
            sheet = crew_sheets.crew_sheet(session, held.rotation_id)
        assert "Almira" not in str(sheet)
        assert "Sunniva" in str(sheet)

    def test_an_entry_that_was_taken_in_goes_with_the_one_that_counts(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            twice = athletes.add(session, Person("Wyrzykowska", "Jagienka"))
            once = athletes.add(session, Person("Wyrzykowska", "Jagna"))
            both = same_person.compare(session, once.id, twice.id)
            takes = {question.key: False for question in both.questions}
            same_person.unite(session, both, takes, both.seen)
        erase(demo_club, once.id)

        assert found_in(demo_club.data, "Wyrzykowska", "Jagienka") == []

    def test_somebody_elses_words_keep_somebody_elses_name(self, demo_club: DemoClub) -> None:
        """Sisters: what names the other one stays."""
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Norling", "Tuva"))
            athletes.add(session, Person("Norling", "Elin"))
            piece_id = desk_rotation.rotation(session, 1).piece.id
            words = "Elin Norling and Tuva Norling said that Norling was late"
            fault = findings.add_finding(session, piece_id, words, withdraws=False, press_key="1")
        erase(demo_club, one.id)

        with demo_club.work() as session:
            said = findings.finding(session, fault.id).words
        assert said == f"Elin Norling and Athlete {one.id} said that Norling was late"

    def test_a_name_that_is_a_word_of_the_hall_is_taken_out_with_the_given_name_only(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Window", "Ida"))
            piece_id = desk_rotation.rotation(session, 1).piece.id
            words = "Bars by the Window: Ida Window fell"
            fault = findings.add_finding(session, piece_id, words, withdraws=False, press_key="1")
        erase(demo_club, one.id)

        with demo_club.work() as session:
            said = findings.finding(session, fault.id).words
        assert said == f"Bars by the Window: Athlete {one.id} fell"


class TestWhatStays:
    def test_a_run_keeps_every_event_under_the_athletes_number(self, demo_club: DemoClub) -> None:
        """Times that were learned, and who was on when a pin was found bent, stay true."""
        athlete_id = put_everywhere(demo_club)
        with demo_club.work() as session:
            before = [(event.word, event.told) for event in session.scalars(select(RunEvent))]
            [run_id] = session.scalars(select(RunEvent.run_id).distinct())
        erase(demo_club, athlete_id)

        with demo_club.work() as session:
            events = [(event.word, event.told) for event in session.scalars(select(RunEvent))]
            view = desk_rotation.rotation(session, 1)
            assert desk_run.run(session, run_id).run.over
        assert events == before
        assert f"Athlete {athlete_id}" in [member.listed_name for member in view.listed]

    def test_whoever_was_never_at_the_bars_leaves_no_row(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Neu", "Ana"))
        erase(demo_club, one.id)

        with demo_club.work() as session:
            assert session.get(Athlete, one.id) is None

    def test_the_others_of_a_list_that_nobody_has_begun_go_on(self, demo_club: DemoClub) -> None:
        with demo_club.work() as session:
            first, *others = desk_rotation.rotation(session, 1).listed
        erase(demo_club, first.id)

        with demo_club.work(writes=True) as session:
            view = desk_rotation.order_anew(session, 1)
        assert list(view.listed) == others

    def test_the_page_of_a_number_says_what_became_of_it(self, demo_club: DemoClub) -> None:
        athlete_id = put_everywhere(demo_club)
        erase(demo_club, athlete_id)

        with demo_club.work() as session, pytest.raises(WasErased) as refused:
            athletes.member(session, athlete_id)
        assert "was erased on" in str(refused.value)


class TestBeforeIt:
    def test_what_goes_and_what_stays_is_named(self, demo_club: DemoClub) -> None:
        athlete_id = put_everywhere(demo_club)
        with demo_club.work() as session:
            seen = erasing.to_erase(session, athlete_id)
            along = erasing.going(session, athlete_id)

        goes = {one.called: one.count for one in along}
        assert goes["versions of settings"] >= 2
        assert (goes["card"], goes["message from a card"]) == (1, 1)
        stays = {one.called: one.count for one in seen.stays}
        assert stays == {"place on the list of a rotation": 1, "run at the bars": 1}
        assert f"The pin was bent when {FAMILY} was on" in seen.written

    def test_nobody_goes_who_is_at_the_bars_now(self, demo_club: DemoClub) -> None:
        ordered(demo_club, OrderRequest())
        with demo_club.work(writes=True) as session, pytest.raises(AtTheBarsNow):
            erasing.erase(session, desk_rotation.rotation(session, 1).listed[0].id)


class TestAnOlderCopyPutBack:
    @of_files  # it looks for the name in the file; on a server see tests/desk/test_opening.py
    def test_the_next_start_erases_again(self, demo_club: DemoClub, tmp_path: Path) -> None:
        """A backup of last week has everything; the list beside the database does not forget."""
        athlete_id = put_everywhere(demo_club)
        demo_club.store.leave_no_traces()
        copy = shutil.copy(demo_club.data.database, tmp_path / "copy")
        erase(demo_club, athlete_id)
        demo_club.store.close()
        shutil.copy(copy, demo_club.data.database)
        assert found_in(demo_club.data, FAMILY)

        store = Store(demo_club.data.where)
        assert erasing.erase_again(store) == 1
        assert found_in(demo_club.data, FAMILY, FOLDED) == []
        assert erasing.erase_again(store) == 0
        store.close()

    def test_the_list_has_numbers_and_no_name(self, demo_club: DemoClub) -> None:
        athlete_id = put_everywhere(demo_club)
        erase(demo_club, athlete_id)

        [line] = (demo_club.data.path / "erased").read_text().splitlines()
        assert line.startswith(f"{demo_club.account.club_id} {athlete_id} ")

    @of_files  # a server gives no number again
    def test_whoever_was_given_the_number_since_is_left_alone(self, demo_club: DemoClub) -> None:
        """A number that is free again goes to the next who is entered."""
        with demo_club.work(writes=True) as session:
            one = athletes.add(session, Person("Neu", "Ana"))
        erase(demo_club, one.id)
        with demo_club.work(writes=True) as session:
            other = athletes.add(session, Person("Alt", "Ea"))
        assert other.id == one.id

        assert erasing.erase_again(demo_club.store) == 0

    def test_a_line_that_was_cut_off_is_nobody(self, demo_club: DemoClub) -> None:
        (demo_club.data.path / "erased").write_text("1 1\n1 2 2026-")
        assert erasing.erase_again(demo_club.store) == 0


def _raise(held: SmallMeet) -> RaiseRequest:
    return RaiseRequest(
        entry_id=held.guests[0].entry_id,
        apparatus_id=held.apparatus_id,
        step="asked",
        raise_mm=50,
        told_by="Almira's coach",
        told_on=date(2026, 12, 5),
        recorded_by="Runa",
    )


def _line(held: SmallMeet, athlete_id: int | None) -> LeftOut:
    return LeftOut(
        meet_id=held.meet_id,
        athlete_id=athlete_id,
        sent_by="Tarn Hollow GC",
        layout_key="x",
        place="row 3, column D",
        read="OSTERKAMP; Almira Osterkamp; 160-165",
        why="a range",
        told_by="Runa",
    )


class TestPhotos:
    """Nothing says who is on a photo: the page shows where to look, and a person ticks."""

    def photographed(self, club: DemoClub, words: str, days_ago: int) -> tuple[int, bytes]:
        """A finding with a photo that came so many days ago; its number, and bytes of it."""
        out = io.BytesIO()
        Image.effect_noise((300, 200), 90).convert("RGB").save(out, "JPEG")
        photo = read_photo(out.getvalue())
        with club.work(writes=True) as session:
            made = findings.add_finding(
                session, 1, words, withdraws=False, press_key=words, photo=photo
            )
            [number] = [step.photo_id for step in made.steps if step.photo_id]
            at = utc_now() - timedelta(days=days_ago)
            table = Base.metadata.tables["photo"]
            session.connection().execute(
                update(table).where(table.c.id == number).values(recorded_at=at)
            )
        return number, photo.content[-2000:-1000]

    def test_those_with_the_name_beside_them_and_of_days_at_the_bars_are_named(
        self, demo_club: DemoClub
    ) -> None:
        athlete_id = put_everywhere(demo_club)
        named, _ = self.photographed(demo_club, f"Loose when {FAMILY} was on", 300)
        near, _ = self.photographed(demo_club, "A cable is worn", 1)
        self.photographed(demo_club, "A mat is torn", 300)

        with demo_club.work() as session:
            told = erasing.to_erase(session, athlete_id)

        assert [(photo.id, photo.names_them) for photo in told.photos] == [
            (named, True),
            (near, False),
        ]
        assert told.other_photos == 1

    def test_what_is_ticked_is_gone_from_every_file_and_what_was_said_stays(
        self, demo_club: DemoClub
    ) -> None:
        """Searched byte by byte: a picture of a child is no less personal than the name."""
        athlete_id = put_everywhere(demo_club)
        one, content = self.photographed(demo_club, "A cable is worn", 0)
        other, stays = self.photographed(demo_club, "A mat is torn", 0)
        demo_club.store.leave_no_traces()
        assert _has(demo_club.data, content[:200])

        with demo_club.work(writes=True) as session:
            erasing.erase(session, athlete_id, [one, 10**9])
        demo_club.store.leave_no_traces()

        assert not any(_has(demo_club.data, content[at : at + 60]) for at in range(0, 1000, 60))
        assert _has(demo_club.data, stays[:200])
        with demo_club.work() as session:
            words = {one.words: one for one in findings.recent(session, 9)}
            assert [step.photo_id for step in words["A cable is worn"].steps] == [None]
            assert [step.photo_id for step in words["A mat is torn"].steps] == [other]

    def test_another_clubs_photo_is_nobodys(self, demo_club: DemoClub) -> None:
        number, content = self.photographed(demo_club, "A mat is torn", 0)
        other = new_account(demo_club.store, "Hillside", "cy", "Cy Moor")
        with demo_club.store.work(other.club_id, by="Cy", writes=True) as session:
            guest = athletes.add(session, Person("Ask", "Ea"))
            erasing.erase(session, guest.id, [number])
        demo_club.store.leave_no_traces()

        assert _has(demo_club.data, content[:200])


def _has(data: DataFolder, sought: bytes) -> bool:
    return any(sought in content for content in all_bytes(data).values())
