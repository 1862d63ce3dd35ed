"""Every unit of work says what it changed, by numbers; nothing of it can be changed later."""

import json
from contextlib import suppress
from datetime import date

import pytest
from sqlalchemy import delete, select

from settingsdesk.store import erasing
from settingsdesk.store.apparatus import ApparatusSetup
from settingsdesk.store.athletes import Athlete, add_all
from settingsdesk.store.clubs import Membership
from settingsdesk.store.errors import RecordIsFinal
from settingsdesk.store.record import A_CARD, A_PHONE, PROGRAM, UNNAMED, Change, latest
from settingsdesk.store.work import Store
from tests.store.conftest import a_finding, a_setting


def told(store: Store, club: int) -> Change | None:
    """What was put on record last."""
    with store.work(club, writes=False) as session:
        return next(iter(latest(session, 1)), None)


class TestWhatIsPutOnRecord:
    def test_a_row_that_is_added_by_number_with_its_athlete(self, store: Store, ours) -> None:
        with store.work(ours.club, by="Runa Calloway", account=7, writes=True) as session:
            setting = a_setting(ours.athlete, ours.model, 2, low_mm=1713)
            session.add(setting)

        change = told(store, ours.club)
        assert (change.account, change.by) == (7, "")
        assert change.lines == [
            {
                "table": "setting",
                "what": "added",
                "count": 1,
                "numbers": [setting.id],
                "athletes": [ours.athlete],
            }
        ]

    def test_a_row_that_is_changed_with_its_columns_and_without_their_values(
        self, store: Store, ours
    ) -> None:
        """A name that was corrected must not live on here."""
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            athlete = session.get(Athlete, ours.athlete)
            athlete.family_name, athlete.group_name = "Wyrzykowska", "Girls 7"

        change = told(store, ours.club)
        [line] = change.lines
        assert (line["table"], line["what"], line["numbers"]) == (
            "athlete",
            "changed",
            [ours.athlete],
        )
        assert {"family_name", "group_name"} <= set(line["columns"])
        kept = json.dumps(change.lines)
        assert not [word for word in ("Wyrzykowska", "Girls 7", "Runa") if word in kept]

    def test_rows_that_are_added_many_at_once(self, store: Store, ours) -> None:
        names = [{"family_name": f"F{number}", "given_name": "G"} for number in range(60)]
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            add_all(session, "Runa", names[:2], None)
        assert told(store, ours.club).lines[0]["count"] == 2
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            add_all(session, "Runa", names, None)

        [line] = told(store, ours.club).lines
        assert (line["count"], "numbers" in line) == (60, False)

    def test_an_erasure(self, store: Store, ours) -> None:
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            athlete = session.get(Athlete, ours.athlete)
            erasing.take_out(session, athlete, "Athlete 1", date(2026, 12, 5))

        first = told(store, ours.club).lines[0]
        assert first == {
            "table": "athlete",
            "what": "erased",
            "count": 1,
            "numbers": [ours.athlete],
        }

    def test_what_somebody_may_do(self, store: Store, ours) -> None:
        """Roles are given outside of a club's unit of work."""
        with store.installation(writes=True) as session:
            row = session.scalars(select(Membership).where(Membership.club_id == ours.club)).one()
            row.role = "helper"

        change = told(store, ours.club)
        assert change.by == "the installation"
        assert change.lines[0]["columns"] == ["role"]
        assert "helper" not in json.dumps(change.lines)


class TestWhoIsNamed:
    @pytest.mark.parametrize("word", sorted(PROGRAM))
    def test_the_program_by_its_word(self, store: Store, ours, word: str) -> None:
        with store.work(ours.club, by=word, writes=True) as session:
            session.add(a_finding(ours.apparatus, "another"))
        assert told(store, ours.club).by == word

    @pytest.mark.parametrize(
        ("by", "kept"), [("Ivo Ask (station)", A_PHONE), ("", A_CARD), ("Runa", UNNAMED)]
    )
    def test_a_volunteer_is_not_by_the_name_that_they_typed(
        self, store: Store, ours, by: str, kept: str
    ) -> None:
        with store.work(ours.club, by=by, writes=True) as session:
            session.add(a_finding(ours.apparatus, "another"))
        assert told(store, ours.club).by == kept


class TestWhatIsNot:
    def test_what_happens_at_the_apparatus_has_a_record_of_its_own(
        self, store: Store, ours
    ) -> None:
        before = told(store, ours.club)
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            session.add(ApparatusSetup(apparatus_id=ours.apparatus, stops=[1], recorded_by="coach"))
        assert (before and before.id) == told(store, ours.club).id

    def test_a_unit_of_work_that_fails_leaves_nothing(self, store: Store, ours) -> None:
        before = told(store, ours.club).id
        with suppress(ZeroDivisionError), store.work(ours.club, account=7, writes=True) as session:
            session.add(a_finding(ours.apparatus, "another"))
            session.flush()
            _ = 1 / 0
        assert told(store, ours.club).id == before

    def test_another_clubs(self, store: Store, ours, theirs) -> None:
        before = told(store, theirs.club).id
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            session.add(a_finding(ours.apparatus, "another"))
        assert told(store, theirs.club).id == before


class TestIsFinal:
    def test_nobody_changes_or_deletes_a_line(self, store: Store, ours) -> None:
        with store.work(ours.club, by="Runa", account=7, writes=True) as session:
            session.add(a_finding(ours.apparatus, "another"))
        with (
            pytest.raises(RecordIsFinal),
            store.work(ours.club, by="Runa", writes=True) as session,
        ):
            latest(session, 1)[0].by = "nobody"
        with (
            pytest.raises(RecordIsFinal),
            store.work(ours.club, by="Runa", writes=True) as session,
        ):
            session.execute(delete(Change))
