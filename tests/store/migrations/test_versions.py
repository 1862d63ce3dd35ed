"""What each revision makes of a desk from before it."""

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import card_keys, paper_language
from settingsdesk.desk.hall import usual_deviations
from settingsdesk.desk.meets import guest_clubs as desk_guests
from settingsdesk.desk.meets import retention
from settingsdesk.desk.meets.retention import Keeping
from settingsdesk.desk.squad import crew_notes, settings, still_right
from settingsdesk.desk.squad.settings import Looked
from settingsdesk.domain.base.names import heard, usual_name
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.store import apparatus as kept_apparatus
from settingsdesk.store import guest_clubs, mark_photos, migrate, record
from settingsdesk.store.apparatus import Apparatus, MatsOfDay
from settingsdesk.store.athletes import Athlete, heard_as, search
from settingsdesk.store.checks import Photo
from settingsdesk.store.clubs import Account, Club, Membership, installation_owners
from settingsdesk.store.failed_tries import FailedTry
from settingsdesk.store.migrate import State
from settingsdesk.store.parts import Part
from settingsdesk.store.settings import Setting
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.stations import StationLetIn
from settingsdesk.store.work import Store
from tests.store.migrations.conftest import (
    Before,
    add_club,
    add_squad,
    plan_of,
    plan_of_names,
    write,
)


class TestRevisionsOfAClub:
    def test_one_from_before_the_revisions_gets_them_and_keeps_its_clubs(
        self, before: Before
    ) -> None:
        """Nothing was kept of it before, so any number is as good as another."""
        file = before("0006_revisions")
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (name, length_unit, created_at)"
                " VALUES ('Hillside', 'in', '2026-11-01 10:00:00')"
            )
        migrate.upgrade(file)
        with closing(sqlite3.connect(file)) as connection:
            found = connection.execute(
                "SELECT name, length_unit, records_revision, runs_revision FROM club"
            ).fetchall()
        assert found == [("Hillside", "in", 0, 0)]
        assert migrate.state(file) is State.CURRENT


class TestNamesInOrder:
    @pytest.mark.parametrize("revision", ["0007_names_in_order", "0014_order_of_names"])
    def test_a_squad_from_before_is_kept_and_found_in_order_without_sorting(
        self, before: Before, revision: str
    ) -> None:
        """A club of many years has thousands of names, and the lists show sixty of them."""
        file = before(revision)
        add_squad(file, "Ørn", "Zoll", "Яценко", "Ask", "Єва", "O’Neil", "Ozawa")

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            in_order = ["Ask", "O’Neil", "Ørn", "Ozawa", "Zoll", "Єва", "Яценко"]
            assert [one.family_name for one in search(session)] == in_order
        store.close()
        left = "club_id = 1 AND meet_id IS NULL AND left_on IS NOT NULL"
        for those in (PRESENT, f"{PRESENT} AND group_name = 'Girls'", left):
            assert "TEMP B-TREE" not in plan_of_names(file, those)


class TestCountedByIndex:
    def test_a_squad_from_before_is_counted_and_searched_without_reading_its_rows(
        self, before: Before
    ) -> None:
        """A list says how many there are, and leads to its last page, in a club of any size."""
        file = before("0016_counted_by_index")
        write(file, A_SQUAD_IN_ORDER)

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            assert [one.family_name for one in search(session)] == ["Ask", "Zoll"]
        store.close()
        for those in (PRESENT, f"{PRESENT} AND searched LIKE '%ask%'"):
            question = f"SELECT count(id) FROM athlete WHERE {those}"  # noqa: S608 -- of this test
            assert "COVERING INDEX" in plan_of(file, question)


class TestNamesTypedElsewhere:
    def test_those_from_before_are_found_by_them(self, before: Before) -> None:
        """Whoever was in the squad already is found like those who come."""
        file = before("0009_names_typed_elsewhere")
        add_squad(file, "O’Neil", "Mueller", "Ask")

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            assert [one.family_name for one in search(session, "Müller")] == ["Mueller"]
            assert [one.family_name for one in search(session, "oneil")] == ["O’Neil"]
        store.close()


class TestEndsOfAnApparatus:
    def test_an_apparatus_from_before_has_no_names_for_its_ends(self, before: Before) -> None:
        """Until the hall gives them, its steps go on to say front and back."""
        file = before("0008_ends")
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO apparatus_model (club_id, kind, name)"
                " VALUES (1, 'uneven_bars', 'Frame')"
            )
            connection.execute(
                "INSERT INTO apparatus (club_id, model_id, name, place, mat_mm, created_at)"
                " VALUES (1, 1, 'Bars 1', 'Hall', 200, '2026-01-01')"
            )

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT name, place, mat_mm, first_end, second_end FROM apparatus"
            assert connection.execute(found).fetchall() == [("Bars 1", "Hall", 200, "", "")]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


A_START_ORDER = """
    INSERT INTO club (name, length_unit, created_at) VALUES ('Harbour', 'cm', '2026-01-01');
    INSERT INTO apparatus_model (club_id, kind, name) VALUES (1, 'uneven_bars', 'Frame');
    INSERT INTO apparatus (club_id, model_id, name, place, mat_mm, created_at)
      VALUES (1, 1, 'Bars 1', 'Hall', 200, '2026-01-01');
    INSERT INTO rotation (club_id, apparatus_id, name, held_on, asked, created_by, created_at)
      VALUES (1, 1, 'R', '2026-01-01', '{}', 'Runa', '2026-01-01');
    INSERT INTO meet (club_id, name, hall, begins_on, ends_on, cards_until, note, created_by,
        created_at)
      VALUES (1, 'Cup', '', '2026-01-01', '2026-01-01', '2026-01-02', '', 'Runa', '2026-01-01');
    INSERT INTO meet_session (club_id, meet_id, number, name, held_on, begins_at)
      VALUES (1, 1, 1, '', '2026-01-01', '');
    INSERT INTO start_order (club_id, rotation_id, session_id, apparatus_id, number, came_by,
        set_at, set_by)
      VALUES (1, 1, 1, 1, 1, 'typed', '2026-01-01', 'Runa');
"""


A_RAISE = """
    INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name, start_number,
        created_at, created_by, searched)
      VALUES (1, 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask ea');
    INSERT INTO entry (club_id, meet_id, athlete_id, from_club, start_number, division, entered_at,
        entered_by)
      VALUES (1, 1, 1, '', '', '', '2026-01-01', 'Runa');
    INSERT INTO raise_request (club_id, entry_id, apparatus_id, step, raise_mm, told_by, told_on,
        remark, recorded_at, recorded_by)
      VALUES (1, 1, 1, 'granted', 50, 'The jury', '2026-01-01', '', '2026-01-01', 'Runa');
"""


class TestPrintedCrewSheets:
    def test_a_start_order_from_before_was_never_printed_here(self, before: Before):
        """Nobody is told to print anew what was not printed by this desk."""
        file = before("0010_printed_crew_sheets")
        write(file, A_START_ORDER)

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT number, came_by, set_by, printed_version FROM start_order"
            assert connection.execute(found).fetchall() == [(1, "typed", "Runa", "")]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


class TestUsualDeviations:
    def test_a_club_from_before_accepts_nothing_of_its_own(self, before: Before):
        """Its athletes' settings say what they said, and its apparatus stand as they stood."""
        file = before("0011_usual_deviations")
        add_club(file)

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            assert usual_deviations.usual(session) == {}
        store.close()


class TestOneAthlete:
    def test_an_athlete_from_before_counts_by_their_own_entry(self, before: Before):
        """Nobody is taken in to anybody until a coach says so."""
        file = before("0012_one_athlete")
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
                " start_number, created_at, created_by, searched)"
                " VALUES (1, 'Ask', 'Ada', '', '', '', '2026-01-01', 'Ida', 'ask ada')"
            )

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT family_name, left_on, taken_into_id FROM athlete"
            assert connection.execute(found).fetchall() == [("Ask", None, None)]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


class TestMarksThatIncludeARaise:
    def test_of_a_raise_from_before_nobody_has_said_it(self, before: Before):
        file = before("0013_marks_include_a_raise")
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.executescript(A_START_ORDER + A_RAISE)

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = "SELECT step, raise_mm, told_by, marks_include FROM raise_request"
            assert connection.execute(found).fetchall() == [("granted", 50, "The jury", None)]
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()


class TestNamesAsHeard:
    def test_those_from_before_are_told_apart_by_them(self, before: Before) -> None:
        """Whoever was in the squad already is told apart from those who come."""
        file = before("0014_order_of_names")
        add_squad(file, "Ørn", "Ask")

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, writes=False) as session:
            [found] = heard_as(session, [], [heard(usual_name("Ostrem", "X"))])
            assert found.family_name == "Ørn"
        store.close()


PRESENT = "club_id = 1 AND meet_id IS NULL AND left_on IS NULL AND taken_into_id IS NULL"


"""What every list of a squad asks for."""


A_SQUAD_IN_ORDER = """
    INSERT INTO club (id, name, length_unit, created_at) VALUES (1, 'Harbour', 'cm', '2026-01-01');
    INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name, start_number,
        created_at, created_by, searched, in_order, heard_name)
    VALUES (1, 'Zoll', 'X', '', '', '', '2026-01-01', 'coach', 'zoll x', x'02', 'x z'),
        (1, 'Ask', 'X', '', '', '', '2026-01-01', 'coach', 'ask x', x'01', 'x a');
"""


class TestSettingDrafts:
    def test_a_desk_from_before_can_have_them(self, before: Before) -> None:
        """Nothing is known of lists that came before; from now on half a row is kept."""
        file = before("0017_setting_drafts")
        write(file, A_START_ORDER)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
                " start_number, created_at, created_by, searched, in_order, heard_name)"
                " VALUES (1, 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask ea', '', 'ea a')"
            )

        migrate.upgrade(file)

        draft = "INSERT INTO setting_draft VALUES (1, 1, 1, ?, '{}', '', '2026-01-01', 'coach', 0)"
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute("PRAGMA foreign_keys = ON")
            assert connection.execute("SELECT count(*) FROM setting_draft").fetchone() == (0,)
            connection.execute(draft, [1])
            with pytest.raises(sqlite3.IntegrityError):
                connection.execute(draft.replace("(1,", "(2,", 1), [2])  # no such model


class TestCardKeys:
    def test_a_desk_from_before_has_no_fingerprint_until_its_next_start(
        self, before: Before, tmp_path: Path
    ) -> None:
        """The key is not in the database: only a start with its folder can tell which it is."""
        file = before("0021_card_keys")
        add_club(file)

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            assert connection.execute("SELECT count(*) FROM card_key").fetchone() == (0,)
        data = DataFolder.at(tmp_path)
        with closing(Store(file)) as store:
            card_keys.must_fit(store, data)
        with closing(sqlite3.connect(file)) as connection:
            [(kept,)] = connection.execute("SELECT fingerprint FROM card_key")
        assert kept == card_keys.fingerprint(data.card_key())


class TestKeptUntil:
    def test_of_a_desk_from_before_nobody_is_erased_and_guests_have_the_usual_time(
        self, before: Before
    ) -> None:
        """An upgrade must not let anybody go whom the club has not been told of."""
        file = before("0022_kept_until")
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
                " start_number, created_at, created_by, searched, in_order, heard_name, left_on)"
                " VALUES (1, 'Ask', 'Ea', '', '', '', '2020-01-01', 'Runa', 'ask', '', 'ea a',"
                " '2020-02-02')"
            )

        migrate.upgrade(file)

        with closing(Store(file)) as store, store.work(1, writes=False) as session:
            assert retention.keeping(session) == Keeping(30, None)
            assert retention.last_cleared(session) is None
            assert session.get(Athlete, 1).erased_on is None
        with closing(Store(file)) as store:
            assert retention.clear(store, date(2026, 12, 5)) == 0


class TestChanges:
    def test_of_a_desk_from_before_nothing_is_known_and_what_comes_is_kept(
        self, before: Before
    ) -> None:
        """Whoever upgrades reads from then on who changed what."""
        file = before("0023_changes")
        add_club(file)

        migrate.upgrade(file)

        with closing(Store(file)) as store:
            with store.work(1, by="Runa", account=1, writes=True) as session:
                assert record.latest(session, 1) == []
                session.add(Part(name="Pin", kind="", minimum=1, created_by="Runa"))
            with store.work(1, writes=False) as session:
                assert [line["table"] for line in record.latest(session, 1)[0].lines] == ["part"]


class TestSeveralClubs:
    def test_clubs_from_before_are_open_and_the_oldest_owner_makes_others(
        self, before: Before
    ) -> None:
        """Somebody has to be able to; who can sign in no more is passed over."""
        file = before("0024_several_clubs")
        add_club(file)
        with closing(sqlite3.connect(file)) as connection, connection:
            for number, (role, disabled) in enumerate(
                [("coach", None), ("owner", "2026-02-02"), ("owner", None), ("owner", None)], 1
            ):
                connection.execute(
                    "INSERT INTO account (id, sign_in_name, password_hash, created_at)"
                    " VALUES (?, ?, 'hash', '2026-01-01')",
                    (number, f"name {number}"),
                )
                connection.execute(
                    "INSERT INTO membership VALUES (?, 1, ?, ?, 'Edda', '2026-01-01', ?)",
                    (number, number, role, disabled),
                )

        migrate.upgrade(file)

        with closing(Store(file)) as store, store.installation(writes=False) as session:
            assert [club.closed_at for club in session.scalars(select(Club))] == [None]
            assert [owner.id for owner in installation_owners(session)] == [3]


class TestAccounts:
    def test_coaches_from_before_lose_nothing(self, before: Before) -> None:
        """They sign in as before and are signed in still; who was there first is the owner."""
        file = before("0018_accounts")
        coaches = [(3, 1, "edda"), (4, 1, "bo"), (5, 2, "cy")]
        day = "2026-03-01 18:00:00"
        with closing(sqlite3.connect(file)) as connection:
            for number in (1, 2):
                connection.execute(
                    "INSERT INTO club (id, name, length_unit, created_at) VALUES (?, ?, 'cm', ?)",
                    (number, f"Club {number}", day),
                )
            for number, club, name in coaches:
                connection.execute(
                    "INSERT INTO coach VALUES (?, ?, ?, ?, ?, ?)",
                    (number, club, name, name.title(), f"hash of {name}", day),
                )
                connection.execute(
                    "INSERT INTO sign_in VALUES (?, ?, ?, ?, ?)",
                    (number + 10, club, number, f"stamp of {name}", day),
                )
            connection.commit()

        migrate.upgrade(file)

        store = Store(file)
        with store.installation(writes=False) as session:
            kept = [
                (one.account.sign_in_name, one.account.password_hash, one.shown_name, one.role)
                for one in session.scalars(select(Membership).order_by(Membership.id))
            ]
            signed_in = [
                (one.club_id, one.account_id, one.stamp_hash, one.seen_at == one.began_at)
                for one in session.scalars(select(SignIn).order_by(SignIn.id))
            ]
        store.close()
        assert kept == [
            ("edda", "hash of edda", "Edda", "owner"),
            ("bo", "hash of bo", "Bo", "coach"),
            ("cy", "hash of cy", "Cy", "owner"),
        ]
        assert signed_in == [
            (1, 3, "stamp of edda", True),
            (1, 4, "stamp of bo", True),
            (2, 5, "stamp of cy", True),
        ]


class TestFailedTries:
    def test_a_desk_from_before_counts_them_from_now_on(self, before: Before) -> None:
        """And lets phones in by hand; its stations stay open meanwhile."""
        file = before("0019_failed_tries")

        migrate.upgrade(file)

        store = Store(file)
        with store.installation(writes=True) as session:
            session.add(FailedTry(counted="somebody", at_ms=1_772_000_000_000))
        with store.installation(writes=False) as session:
            assert session.scalars(select(FailedTry.counted)).all() == ["somebody"]
            assert session.scalars(select(StationLetIn)).all() == []
        store.close()


class TestSecondFactor:
    def test_accounts_from_before_have_none_and_stay_signed_in(self, before: Before) -> None:
        file = before("0020_second_factor")
        day = "2026-03-01 18:00:00"
        with closing(sqlite3.connect(file)) as connection:
            connection.execute(
                "INSERT INTO club (id, name, length_unit, created_at) VALUES (1, 'A', 'cm', ?)",
                (day,),
            )
            connection.execute("INSERT INTO account VALUES (1, 'edda', 'hash', ?)", (day,))
            connection.execute(
                "INSERT INTO membership VALUES (1, 1, 1, 'owner', 'Edda', ?, NULL)", (day,)
            )
            connection.execute(
                "INSERT INTO sign_in VALUES (1, 1, 1, 'stamp', ?, ?, 'Firefox')", (day, day)
            )
            connection.commit()

        migrate.upgrade(file)

        store = Store(file)
        with store.installation(writes=False) as session:
            [account] = session.scalars(select(Account))
            [signed_in] = session.scalars(select(SignIn))
            assert account.second_factor_salt is None
            assert not signed_in.waits_for_code
            assert not session.get_one(Club, 1).second_factor_needed
        store.close()


class TestMarkPhotos:
    def test_models_from_before_have_none(self, before: Before) -> None:
        file = before("0033_mark_photos")
        write(file, A_START_ORDER)

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, by="Runa", writes=True) as session:
            assert mark_photos.of_models(session, [1]) == []
            photo = Photo(content=b"x", width_px=1, height_px=1, recorded_by="Runa")
            session.add(photo)
            session.flush()
            told = {"words": "At the sleeve", "photo_id": photo.id, "changed_by": "Runa"}
            session.add(mark_photos.MarkPhoto(model_id=1, axis="low_rail", **told))
            session.flush()
            [(mark, *size)] = mark_photos.of_models(session, [1])
            assert (mark.words, size) == ("At the sleeve", [1, 1])
        store.close()


class TestCrewNotes:
    def test_athletes_from_before_have_none(self, before: Before) -> None:
        file = before("0032_crew_notes")
        write(file, A_START_ORDER)
        write(
            file,
            "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
            " start_number, created_at, created_by, searched, in_order, heard_name) VALUES (1,"
            " 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask ea', 'ask ea', 'ask ea');"
            "INSERT INTO setting (club_id, athlete_id, model_id, version, recorded_at, recorded_by,"
            " reason) VALUES (1, 1, 1, 1, '2026-01-01', 'Runa', '')",
        )

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, by="Runa", writes=True) as session:
            [kept] = session.scalars(select(Setting))
            assert kept.crew_note is None
            crew_notes.write_all(session, {(1, 1): "Board on the left"})
            session.refresh(kept)
            assert kept.crew_note == "Board on the left"
        store.close()


class TestMatsOfDay:
    def test_apparatus_from_before_has_the_mats_on_record_every_day(self, before: Before) -> None:
        file = before("0031_mats_of_day")
        write(file, A_START_ORDER)

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, by="Runa", writes=True) as session:
            [bars] = session.scalars(select(Apparatus))
            assert kept_apparatus.more_mat_of(bars) == {}
            session.add(MatsOfDay(apparatus_id=bars.id, day=date(2026, 12, 5), more_mm=100))
            session.flush()
            session.refresh(bars)
            assert kept_apparatus.more_mat_of(bars) == {date(2026, 12, 5): 100}
        store.close()


class TestPaperLanguage:
    def test_clubs_from_before_go_on_printing_in_english(self, before: Before) -> None:
        file = before("0026_paper_language")
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (id, name, length_unit, created_at)"
                " VALUES (1, 'A', 'cm', '2026-01-01')"
            )

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, by="Runa", writes=True) as session:
            assert paper_language.kept(session) == "en"
            paper_language.keep(session, "pl")
            assert paper_language.kept(session) == "pl"
        store.close()


class TestGuestClubs:
    def test_meets_from_before_have_none_and_take_them_from_then_on(self, before: Before) -> None:
        file = before("0025_guest_clubs")
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                "INSERT INTO club (id, name, length_unit, created_at)"
                " VALUES (1, 'A', 'cm', '2026-01-01')"
            )
            connection.execute(
                "INSERT INTO meet (id, club_id, name, hall, begins_on, ends_on, cards_until, note,"
                " created_at, created_by) VALUES (1, 1, 'Cup', '', '2026-12-05', '2026-12-05',"
                " '2026-12-05', '', '2026-01-01', 'Runa')"
            )

        migrate.upgrade(file)

        store = Store(file)
        with store.work(1, by="Runa", writes=True) as session:
            assert guest_clubs.of_meet(session, 1) == []
            assert guest_clubs.all_away(session) == []
            desk_guests.invite(session, b"k" * 32, 1, "Lakeside")
            assert [guest.entered_as for guest in guest_clubs.of_meet(session, 1)] == ["Lakeside"]
        store.close()


class TestStillRight:
    def test_of_a_desk_from_before_every_setting_was_tried_and_nobody_has_grown(
        self, before: Before
    ) -> None:
        """What is stored counts as it did; after half a year it is asked about."""
        file = before("0028_still_right")
        write(file, A_START_ORDER)
        write(file, A_SETTING)

        migrate.upgrade(file)

        with Store(file).work(1, writes=False) as session:
            assert still_right.season(session) == 180
            [version] = settings.history(session, 1)
            assert (version.untried, version.confirmed_at) == (False, None)
            assert version.looked == Looked(version.recorded_at, 0)
            assert list(still_right.asked_about(session, [1], None)) == []
            assert list(still_right.asked_about(session, [1], 180)) == [version.id]


A_SETTING = """
    INSERT INTO athlete (id, club_id, family_name, given_name, printed_name, group_name,
        start_number, created_at, created_by, searched, in_order, heard_name)
      VALUES (1, 1, 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask ea', x'01', 'ea a');
    INSERT INTO setting (id, club_id, athlete_id, model_id, version, recorded_at, recorded_by,
        reason)
      VALUES (1, 1, 1, 1, 1, '2020-01-01 10:00:00.000000', 'Runa', '');
    INSERT INTO setting_value (club_id, setting_id, axis, wanted_mm, accepts_mm, weight, as_read)
      VALUES (1, 1, 'low_rail', 1650, 0, 1, ''), (1, 1, 'high_rail', 2450, 0, 1, ''),
        (1, 1, 'spread', 1600, 0, 1, '');
"""


class TestPurposes:
    def test_every_setting_from_before_is_the_usual_one_and_others_may_stand_beside_it(
        self, before: Before
    ) -> None:
        """Its cards stay as they are: they carry that one."""
        file = before("0034_purposes")
        write(file, A_START_ORDER)
        write(file, A_SETTING)

        migrate.upgrade(file)

        with Store(file).work(1, writes=False) as session:
            [usual] = settings.history(session, 1)
        assert (usual.purpose, usual.version) == (USUAL, 1)
        with closing(sqlite3.connect(file)) as connection:
            assert not connection.execute("PRAGMA foreign_key_check").fetchall()
            beside = (
                "INSERT INTO setting (club_id, athlete_id, model_id, purpose, version, recorded_at,"
                " recorded_by, reason) VALUES (1, 1, 1, ?, 1, '2026-01-01', 'Runa', '')"
            )
            connection.execute(beside, [Purpose.TRAINING.value])
            for purpose in (Purpose.TRAINING.value, USUAL.value, "warm-up"):
                with pytest.raises(sqlite3.IntegrityError):
                    connection.execute(beside, [purpose])


class TestAfterWhichSetting:
    def test_what_was_made_before_came_after_the_settings_of_moments_before(
        self, before: Before
    ) -> None:
        """A card of last week still says what is new since; a clock says it no more."""
        file = before("0030_after_setting")
        write(file, A_START_ORDER)
        athlete = "INSERT INTO athlete (club_id, family_name, given_name, printed_name, group_name,"
        athlete += " start_number, created_at, created_by, searched, in_order, heard_name) VALUES"
        setting = "INSERT INTO setting (club_id, athlete_id, model_id, version, recorded_at,"
        setting += " recorded_by, reason) VALUES (1, 1, 1, ?, ?, 'Runa', '')"
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute(
                f"{athlete} (1, 'Ask', 'Ea', '', '', '', '2026-01-01', 'Runa', 'ask', '', 'ea a')"
            )
            # The third was kept after the clock had been put back by two days.
            days = ("2026-01-03 10:00:00", "2026-01-05 10:00:00", "2026-01-04 10:00:00")
            connection.executemany(setting, list(enumerate(days, 1)))
            connection.executemany(
                "INSERT INTO card (id, club_id, athlete_id, apparatus_id, version, content,"
                " code_hash, short_code_mark, issued_at, issued_by)"
                " VALUES (?, 1, 1, 1, ?, '{}', ?, ?, ?, 'Runa')",
                [
                    (f"{number:022}", number, f"{number}", f"{number}", f"2026-01-{day} 12:00:00")
                    for number, day in enumerate(("02", "03", "04", "05"), 1)
                ],
            )

        migrate.upgrade(file)

        with closing(sqlite3.connect(file)) as connection:
            found = connection.execute("SELECT after_setting FROM card ORDER BY version").fetchall()
        assert [number for (number,) in found] == [0, 1, 3, 3]
