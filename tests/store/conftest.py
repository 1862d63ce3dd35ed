"""Two clubs in one real database file, so that a test can try to cross from one to the other."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.orm import Session

from settingsdesk.store import migrate
from settingsdesk.store.apparatus import (
    Apparatus,
    ApparatusSetup,
    Calibration,
    MatsOfDay,
    UsualDeviation,
)
from settingsdesk.store.apparatus_models import ApparatusModel, ApparatusModelVersion
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.card_remarks import CardRemark
from settingsdesk.store.cards import Card
from settingsdesk.store.checks import ApparatusCheck, CheckAnswer, CheckListVersion, Photo
from settingsdesk.store.clubs import Account, Club, Membership
from settingsdesk.store.crew_notes import CrewNote
from settingsdesk.store.findings import Finding, FindingStep
from settingsdesk.store.growth import Growth
from settingsdesk.store.guest_clubs import HandedOver, MeetAway, MeetDelivery, MeetGuest
from settingsdesk.store.invitations import Invitation
from settingsdesk.store.left_out import LeftOut
from settingsdesk.store.list_mappings import ListMapping
from settingsdesk.store.mark_photos import MarkPhoto
from settingsdesk.store.meets import Entry, Meet, MeetApparatus, MeetSession, RaiseRequest
from settingsdesk.store.parts import Part, PartCount
from settingsdesk.store.rotations import Rotation, RotationPlan, RotationTurn, StartOrder
from settingsdesk.store.rule_books import RuleBook
from settingsdesk.store.runs import Run, RunEvent
from settingsdesk.store.setting_drafts import SettingDraft
from settingsdesk.store.settings import Setting, SettingConfirmation, SettingValue
from settingsdesk.store.sign_ins import SignIn
from settingsdesk.store.stations import Station, StationLetIn, StationPhone
from settingsdesk.store.work import Store
from tests.databases import Databases, Where


@dataclass(frozen=True)
class ClubRows:
    """The numbers of one club's rows, one of each table."""

    club: int
    athlete: int
    model: int
    apparatus: int
    setting: int
    rotation: int
    card: str


@pytest.fixture(scope="session")
def new_database(tmp_path_factory: pytest.TempPathFactory, databases: Databases) -> Where:
    """A database with this version's tables and nothing in them, to be copied from."""
    return databases.made(tmp_path_factory.mktemp("new") / "desk.sqlite3", migrate.upgrade)


@pytest.fixture
def database(new_database: Where, tmp_path: Path, databases: Databases) -> Iterator[Where]:
    """The database of the test's own."""
    yield databases.copied(new_database, tmp_path / "desk.sqlite3")
    databases.forget(tmp_path / "desk.sqlite3")


@pytest.fixture
def store(database: Where) -> Iterator[Store]:
    """The store on it; it waits only a moment for its turn."""
    opened = Store(database, wait_seconds=0.05)
    yield opened
    opened.close()


@dataclass(frozen=True)
class TwoClubs:
    """A database with two clubs in it, to be copied from."""

    where: Where
    ours: ClubRows
    theirs: ClubRows


@pytest.fixture(scope="session")
def two_clubs(
    new_database: Where, tmp_path_factory: pytest.TempPathFactory, databases: Databases
) -> TwoClubs:
    """Made once, because every commit waits for the disk."""
    file = tmp_path_factory.mktemp("two") / "desk.sqlite3"
    where = databases.copied(new_database, file)
    store = Store(where)
    made = TwoClubs(where, furnish(store, "Harbour"), furnish(store, "Hillside"))
    store.close()
    return made


@pytest.fixture
def ours(database: Where, two_clubs: TwoClubs, tmp_path: Path, databases: Databases) -> ClubRows:
    """The club that the tests work in; another one is always there beside it."""
    databases.copied(two_clubs.where, tmp_path / "desk.sqlite3")
    return two_clubs.ours


@pytest.fixture
def theirs(ours: ClubRows, two_clubs: TwoClubs) -> ClubRows:
    """The other club of the same installation, furnished alike."""
    return two_clubs.theirs


def furnish(store: Store, name: str) -> ClubRows:
    """A club with one row in every table."""
    with store.installation(writes=True) as session:
        club = Club(name=name)
        account = Account(sign_in_name=f"coach@{name}", password_hash="-")
        session.add_all([club, account])
        session.flush()
    with store.work(club.id, writes=True) as session:
        return _furnish(session, club.id, name, account.id)


def _furnish(session: Session, club_id: int, name: str, account_id: int) -> ClubRows:
    athlete = Athlete(family_name="Ask", given_name=name, created_by="coach")
    model = ApparatusModel(name="Type 1", kind="uneven bars")
    coach = Membership(account_id=account_id, role="owner", shown_name="Coach")
    rule_book = RuleBook(name="Youth", definition={}, edited_by="coach")
    usual = UsualDeviation(kind="uneven bars", axis="low_rail", accepts_mm=5)
    session.add_all([athlete, model, coach, rule_book, usual])
    session.flush()
    session.add(SignIn(account_id=account_id, stamp_hash=f"hash of {name}"))
    soon, code_hash = datetime.now(UTC), f"link of {name}"
    session.add(
        Invitation(role="helper", shown_name="", code_hash=code_hash, made_by="coach", until=soon)
    )
    apparatus = Apparatus(model_id=model.id, name="Bars 1")
    session.add(apparatus)
    session.add(ApparatusModelVersion(model_id=model.id, version=1, definition={}, recorded_by="c"))
    setting = a_setting(athlete.id, model.id, 1)
    session.add(setting)
    draft = SettingDraft(
        athlete_id=athlete.id, model_id=model.id, axes={}, marks_of="", kept_by="coach"
    )
    note = CrewNote(
        athlete_id=athlete.id, model_id=model.id, words="Board left", written_by="coach"
    )
    session.add_all([draft, note])
    session.flush()
    session.add(Growth(athlete_id=athlete.id, number=1, recorded_by="coach"))
    session.add(
        SettingConfirmation(athlete_id=athlete.id, setting_id=setting.id, recorded_by="coach")
    )
    mats = MatsOfDay(apparatus_id=apparatus.id, day=date(2026, 3, 1), more_mm=100)
    picture = Photo(content=b"mark", width_px=1, height_px=1, recorded_by="coach")
    session.add_all([mats, picture])
    session.flush()
    session.add(
        MarkPhoto(
            model_id=model.id,
            axis="low_rail",
            words="At the sleeve",
            photo_id=picture.id,
            changed_by="coach",
        )
    )
    session.add(ApparatusSetup(apparatus_id=apparatus.id, stops=[3, 4, 5], recorded_by="coach"))
    session.add(
        Calibration(
            apparatus_id=apparatus.id,
            axis="low_rail",
            measurements=[{"stop": 1, "measured_mm": 1500}],
            fitted={"first_mm": 1500},
            taken_on=date(2026, 3, 1),
            recorded_by="coach",
        )
    )
    rotation = Rotation(
        apparatus_id=apparatus.id,
        name="First",
        held_on=date(2026, 3, 2),
        asked={},
        created_by="coach",
        turns=[RotationTurn(athlete_id=athlete.id, listed_place=1)],
        plans=[RotationPlan(made_by="coach", result={})],
    )
    card = a_card(athlete.id, apparatus.id, 1, mark=name)
    session.add_all([rotation, card])
    session.flush()
    _look_after(session, apparatus.id)
    begun = RunEvent(number=1, word="begun", told={}, by="coach")
    run = Run(rotation_id=rotation.id, apparatus_id=apparatus.id, model_version=1, events=[begun])
    session.add(run)
    session.flush()
    _hold_a_meet(session, apparatus.id, athlete.id, rotation.id, name)
    return ClubRows(
        club=club_id,
        athlete=athlete.id,
        model=model.id,
        apparatus=apparatus.id,
        setting=setting.id,
        rotation=rotation.id,
        card=card.id,
    )


def _look_after(session: Session, apparatus_id: int) -> None:
    """A check of the apparatus with a finding, a photo, a list of the club's own, a part."""
    photo = Photo(content=b"picture", width_px=1, height_px=1, recorded_by="coach")
    part = Part(name="Spare rail", kind="uneven_bars", minimum=1, created_by="coach")
    finding = a_finding(apparatus_id)
    items = [{"key": "rail", "words": "Rail whole"}]
    own = CheckListVersion(
        kind="uneven_bars",
        occasion="before_use",
        version=1,
        shipped=False,
        items=items,
        interval_months=0,
        recorded_by="coach",
    )
    session.add_all([photo, part, finding, own])
    session.flush()
    session.add(PartCount(part_id=part.id, counted=1, remark="", recorded_by="coach"))
    check = a_check(apparatus_id)
    check.answers = [
        an_answer(answer="withdraw", photo_id=photo.id, finding_id=finding.id),
    ]
    session.add(check)
    session.flush()


def _hold_a_meet(
    session: Session, apparatus_id: int, athlete_id: int, rotation_id: int, name: str
) -> None:
    """A meet with a session, an entry, a start order and a station, and what its cards bring."""
    day = date(2026, 3, 2)
    meet = Meet(
        name="Cup", hall="Hall", begins_on=day, ends_on=day, cards_until=day, created_by="coach"
    )
    session.add(meet)
    session.flush()
    part = MeetSession(meet_id=meet.id, number=1, name="Session 1", held_on=day)
    entry = Entry(meet_id=meet.id, athlete_id=athlete_id, from_club=name, entered_by="coach")
    stands = MeetApparatus(meet_id=meet.id, apparatus_id=apparatus_id)
    session.add_all([part, entry, stands])
    session.flush()
    order = StartOrder(
        rotation_id=rotation_id,
        session_id=part.id,
        apparatus_id=apparatus_id,
        number=1,
        came_by="typed",
        set_by="coach",
    )
    request = RaiseRequest(
        entry_id=entry.id,
        apparatus_id=apparatus_id,
        step="asked",
        raise_mm=50,
        told_by="coach of hers",
        told_on=day,
        recorded_by="coach",
    )
    station = Station(
        session_id=part.id,
        apparatus_id=apparatus_id,
        key=f"key of {name}",
        code_hash=f"station of {name}",
        short_code_mark=f"short station of {name}",
        opened_by="coach",
        until=datetime(2026, 3, 2, 18, tzinfo=UTC),
        phones=[StationPhone(shown_name="Ivo", stamp_hash=f"phone of {name}")],
    )
    session.add(station)
    session.flush()
    session.add(
        StationLetIn(
            station_id=station.id,
            code_mark=f"waiting phone of {name}",
            let_in_by="coach",
            until=station.until,
        )
    )
    remark = CardRemark(
        athlete_id=athlete_id, apparatus_id=apparatus_id, card_version=1, said="Too low"
    )
    mapping = ListMapping(sent_by=name, layout_key="1", mapping={}, kept_by="coach")
    line = LeftOut(
        meet_id=meet.id,
        athlete_id=athlete_id,
        sent_by=name,
        layout_key="1",
        place="row 2, column C",
        read="?",
        why="A doubt",
        told_by="coach",
    )
    session.add_all([order, request, station, remark, mapping, line])
    guest = MeetGuest(
        meet_id=meet.id,
        entered_as=name,
        code_hash=f"guest of {name}",
        made_by="c",
        until=datetime.now(UTC),
    )
    away = MeetAway(host_club=0, meet_guest=meet.id, host_name="", meet_name="", ends_on=day)
    session.add_all([guest, away])
    session.flush()
    told = {"entered": 1, "settings": 1, "left_out": 0}
    session.add(MeetDelivery(meet_guest_id=guest.id, recorded_by="coach", **told))
    session.add(HandedOver(meet_away_id=away.id, athlete_id=athlete_id, entry=1))
    session.flush()


def a_finding(apparatus_id: int, press_key: str = "press 1") -> Finding:
    """A finding that withdraws the apparatus and is open."""
    return Finding(
        apparatus_id=apparatus_id,
        item="rail",
        words="Laminate lifting",
        withdraws=True,
        press_key=press_key,
        recorded_by="coach",
        steps=[FindingStep(step="open", remark="", recorded_by="coach")],
    )


def a_check(apparatus_id: int, press_key: str = "press 1") -> ApparatusCheck:
    """A check before use without answers yet."""
    return ApparatusCheck(
        apparatus_id=apparatus_id,
        occasion="before_use",
        list_version=1,
        made_on=date(2026, 3, 2),
        place="Hall",
        made_by="coach",
        address="",
        second_by="",
        remark="",
        recheck="",
        press_key=press_key,
        recorded_by="coach",
    )


def an_answer(**told: Any) -> CheckAnswer:
    """An item in order, with what is told otherwise."""
    known = {"place": 1, "item": "rail", "group_key": "rail_surface", "words": "Rail whole"}
    plain = {"source": "I02", "answer": "in_order", "together": False, "remark": ""}
    return CheckAnswer(**{**known, **plain, **told})


def a_setting(athlete_id: int, model_id: int, version: int, low_mm: int = 1700) -> Setting:
    """A setting of two axes."""
    return Setting(
        athlete_id=athlete_id,
        model_id=model_id,
        version=version,
        recorded_by="coach",
        values=[
            SettingValue(axis="low_rail", wanted_mm=low_mm, accepts_mm=10),
            SettingValue(axis="high_rail", wanted_mm=2500, accepts_mm=10),
        ],
    )


def a_card(athlete_id: int, apparatus_id: int, version: int, mark: str) -> Card:
    """A card whose code hash and short code mark are told apart by ``mark``."""
    return Card(
        athlete_id=athlete_id,
        apparatus_id=apparatus_id,
        version=version,
        content={"name": "Ask"},
        code_hash=f"hash of {mark}",
        short_code_mark=f"mark of {mark}",
        issued_by="coach",
    )
