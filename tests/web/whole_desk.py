"""A desk on which every page has something to show, small and large, laid back between presses."""

from dataclasses import dataclass, field, replace
from pathlib import Path

from flask import Flask
from sqlalchemy import insert, text
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from settingsdesk.desk.accounts import clubs, invitations, sign_ins
from settingsdesk.desk.accounts.accounts import new_account
from settingsdesk.desk.accounts.passwords import keep
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.desk.cards import issued, remarks
from settingsdesk.desk.checks import findings
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, mark_photos, models
from settingsdesk.desk.hall.photos import read_photo, read_small_photo
from settingsdesk.desk.lists import handing_over
from settingsdesk.desk.meets import entries, guest_clubs, meets
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.stations import stations
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.resources import folder
from settingsdesk.store import sign_ins as kept_sign_ins
from settingsdesk.store.athletes import Athlete, made_of
from settingsdesk.store.base import Base
from settingsdesk.store.clubs import open_memberships
from settingsdesk.store.left_out import LeftOut
from settingsdesk.store.server import gather_statistics
from settingsdesk.web.frame.work import code_key
from tests.conftest import DEMO_PASSWORD, DemoClub
from tests.databases import here, server_wrote
from tests.desk.checks.pictures import jpeg
from tests.desk.runs.timed_evenings import carried_out, setups, true_seconds, window_bars
from tests.desk.sample_meet import BY, DAY, SmallMeet, hold
from tests.web.pages import Reader

ATHLETES = 3000
"""So many more are in the squad of the large desk."""

OTHERS = 30
"""So many more of all else that grows are on the large desk: guests, cards, findings, phones."""

SMALL, LARGE = "small", "large"


AT_THE_BARS, AT_THE_STATION = "-at-the-bars", "-at-the-station"
"""Behind ``SMALL`` or ``LARGE``: the coach's run goes on, or the volunteers' does."""

OTHERWISE: dict[str, dict[str, str]] = {
    "athletes.come_back": {"athlete_id": "gone_id"},
    "calibration": {"apparatus_id": "calibrated_id"},
    "crew_sheets": {"rotation_id": "order_id"},
    "start_orders": {"rotation_id": "order_id"},
    "accounts.end_device": {"sign_in_id": "own_device"},
    "away.join": {"code": "guest_link"},
    "invitation": {"code": "link"},
    "station": {"run_id": "meet_run_id"},
    "station.mark_photo": {"photo_id": "mark_photo_id"},
}
"""Which number an address has where it is not the one of its own name."""


@dataclass(frozen=True)
class WholeDesk:
    """One application whose database is laid back to one of the states that were kept of it.

    ``ids`` are the numbers of what stands on it, by the names that routes have for them;
    ``stamps`` what the cookies of the coach and of a phone hold.
    """

    app: Flask
    club: DemoClub
    held: SmallMeet
    ids: dict[str, object]
    stamps: dict[str, str]
    states: Path
    _laid: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """The one state that was laid or kept last, and what was written by then."""

    def lay(self, state: str) -> None:
        """Have the desk as it was in that state; where nothing was written since, it is."""
        if self._laid != {state: self.written()}:
            self.club.store.close()
            kept = here()
            kept.copied(kept.known_by(self.states / state), self.club.data.database)
            self._note(state)

    def keep(self, state: str) -> None:
        """Remember how the desk is now."""
        self.club.store.close()
        here().copied(self.club.data.where, self.states / state)
        self._note(state)

    def _note(self, state: str) -> None:
        self._laid.clear()
        self._laid[state] = self.written()

    def written(self) -> tuple[int, ...]:
        """What changes with the first commit: the database, or the log that is written ahead."""
        if self.club.data.server:
            return (server_wrote(),)
        file = self.club.data.database
        log = file.with_name(f"{file.name}-wal")
        written = file.stat()
        return written.st_mtime_ns, written.st_size, log.stat().st_size if log.exists() else 0

    def address(self, rule: Rule) -> str:
        """The address of a route, made of the numbers of what stands on the desk."""
        otherwise = OTHERWISE.get(rule.endpoint, OTHERWISE.get(rule.endpoint.partition(".")[0], {}))
        numbers = {name: self.ids[otherwise.get(name, name)] for name in rule.arguments}
        return self.app.url_map.bind("localhost").build(rule.endpoint, numbers)

    def browser(self, kind: type[Reader], *who: str) -> Reader:
        """A browser with the cookies of the coach ("stamp"), a phone ("station"), or nobody."""
        reader = kind(self.app)
        with reader.client.session_transaction() as cookie:
            for one in who:
                cookie[one] = self.stamps[one]
        return reader


def furnished(club: DemoClub, app: Flask, states: Path) -> WholeDesk:
    """The demo club with one of everything, kept as ``SMALL``, and with thousands as ``LARGE``."""
    desk = one_of_everything(club, app, states)
    _grow(desk)
    desk.keep(LARGE)
    return desk


def one_of_everything(club: DemoClub, app: Flask, states: Path) -> WholeDesk:
    """The first of these two alone."""
    held = hold(club)
    _time_an_evening(club)
    ids, stamps = _set_up(club, app, held)
    desk = WholeDesk(app, club, held, ids, stamps, states)
    desk.keep(SMALL)
    return desk


def _time_an_evening(club: DemoClub) -> None:
    bars, stood = window_bars(club), setups(48)
    carried_out(club, bars, stood, true_seconds(bars, stood))


def _guest_of(
    club: DemoClub, host_id: int, coach: SignedIn, athlete_id: int, apparatus_id: int
) -> tuple[str, int]:
    """A meet of the club beside: a link to it that waits, and the club as its guest already."""
    secret = club.data.secret_key()
    with club.work() as session:
        [bars] = [
            piece.model for piece in apparatus.all_pieces(session) if piece.id == apparatus_id
        ]
    with club.store.work(host_id, by="Ida Moss", writes=True) as session:
        version = models.add_model(session, bars)
        piece = apparatus.add_piece(session, "Bars by the river", "", version.id, 0)
        facts = MeetFacts("River Cup", "", DAY, DAY, DAY)
        meet_id = meets.add_meet(session, facts).id
        meets.put_apparatus(session, meet_id, piece.id)
        used, waits = (
            guest_clubs.invite(session, secret, meet_id, name) for name in ("Quillmoor", "Moor")
        )
    with club.work() as session:
        there = guest_clubs.away(session, guest_clubs.accept(club.store, used, coach))
    hall = handing_over.at_host(club.store, coach, there)
    told = (club.store, coach, there, hall, [athlete_id])
    handing_over.hand_over(*told, handing_over.preview(*told).fingerprint)
    return waits, there.id


def _set_up(
    club: DemoClub, app: Flask, held: SmallMeet
) -> tuple[dict[str, object], dict[str, str]]:
    with app.test_request_context():
        key = code_key()
    with club.store.installation(writes=True) as session:
        membership = open_memberships(session, club.account.account_id)[0]
        coach = sign_ins.begin(session, membership)
        helper = new_account(
            session, membership.club_id, "bo", "Bo Larch", keep(DEMO_PASSWORD), Role.HELPER
        )
        sign_ins.begin(session, helper)
        [device] = [one.id for one in kept_sign_ins.of_account(session, helper.account_id)]
        sign_ins.begin(session, membership, "Firefox, Android")
        waiting = sign_ins.begin(session, membership, waits_for_code=True)
        own_device = kept_sign_ins.of_account(session, membership.account_id)[0].id
    with club.work(writes=True) as session:
        listed = rotation.rotation(session, 1).listed
        [card] = issued.issue(session, key, held.apparatus_id, [listed[0].id])
        [meets_card] = issued.issue(session, key, held.apparatus_id, [held.guests[0].member.id])
        [card_id] = [one.id for one in issued.of_athlete(session, listed[0].id)]
        fault = report(session, held.apparatus_id, "1")
        small = read_small_photo(jpeg())
        mark_photos.keep(session, 1, "low_rail", "Read at the lower edge of the sleeve", small)
        mark_photo = mark_photos.of_model(session, 1)["low_rail"].photo_id
        line = leave_out(session, held, 1)
        gone = athletes.add(session, Person("Zorn", "Lova"))
        athletes.leave(session, gone.id, today())
        station = stations.open_station(session, key, held.session_id, held.apparatus_id)
        codes = stations.codes(session, key, station.id)
        link = invitations.invite(session, club.data.secret_key(), Role.COACH, "Cy Moor")
        [invited] = invitations.waiting(session, club.data.secret_key())
    beside = clubs.add_club(
        club.store, "Riverside", Unit.CENTIMETRE, folder("seed") / "rulebooks.toml", "Edda"
    )
    clubs.invite_owner(club.store, club.data.secret_key(), beside, "Edda", "Ida Moss")
    with club.store.work(beside, by="Edda", writes=True) as session:
        [ended] = invitations.waiting(session, club.data.secret_key())
        invitations.take_back(session, ended.id)
    guest_link, meet_away_id = _guest_of(club, beside, coach, listed[0].id, held.apparatus_id)
    with club.work(writes=True) as session:
        guest_clubs.invite(session, club.data.secret_key(), held.meet_id, "Riverside")
        [guest] = guest_clubs.guest_clubs(session, club.data.secret_key(), held.meet_id)
    phone = stations.let_in(club.store, key, codes.short_code, "Ivo")
    code = card.url.rpartition("/")[2]
    remarks.receive(club.store, code, "The low rail felt high")
    with club.work() as session:
        [remark] = remarks.unanswered(session)
        [own] = [
            (piece.id, scale)
            for piece in apparatus.all_pieces(session)
            for scale in piece.own_scales.values()
        ][:1]
    ids: dict[str, object] = {
        "apparatus_id": held.apparatus_id,
        "athlete_id": listed[0].id,
        "axis": own[1].axis,
        "axis_key": "low_rail",
        "calibrated_id": own[0],
        "calibration_id": own[1].id,
        "card_id": card_id,
        "check_id": 1,
        "club_id": beside,
        "code": code,
        "entry_id": held.guests[0].entry_id,
        "finding_id": fault,
        "invitation_id": invited.id,
        "link": link,
        "membership_id": helper.id,
        "own_device": own_device,
        "gone_id": gone.id,
        "guest_link": guest_link,
        "meet_away_id": meet_away_id,
        "meet_guest_id": guest.id,
        "kind": "uneven_bars",
        "kind_key": "uneven_bars",
        "line": card.line,
        "line_id": line,
        "mark_photo_id": mark_photo,
        "meet_card": meets_card.url,
        "meet_run_id": 2,
        "model_id": 1,
        "order_id": held.rotation_id,
        "other_id": listed[1].id,
        "run_id": 2,
        "meet_id": held.meet_id,
        "occasion": "before_use",
        "part_id": 1,
        "phone_id": 1,
        "photo_id": 1,
        "remark_id": remark.id,
        "rotation_id": 1,
        "session_id": held.session_id,
        "sign_in_id": device,
        "short_code": card.short_code,
        "station_code": codes.url.rpartition("/")[2],
        "station_id": station.id,
    }
    stamps = {"stamp": coach.stamp, "waits_for_code": waiting.stamp, "station": phone.stamp}
    return ids, stamps


def report(session: Session, apparatus_id: int, press_key: str) -> int:
    """The number of a fault that leaves the apparatus in use, with a photo."""
    return findings.add_finding(
        session,
        apparatus_id,
        "A pin is bent",
        withdraws=False,
        press_key=press_key,
        photo=read_photo(jpeg()),
    ).id


def leave_out(session: Session, held: SmallMeet, row: int) -> int:
    """The number of a line of a club's list that was not taken."""
    line = LeftOut(
        meet_id=held.meet_id,
        athlete_id=held.guests[0].member.id,
        sent_by="Tarn Hollow GC",
        layout_key="x",
        place=f"row {row}, column D",
        read="160-165",
        why="a range",
        told_by=BY,
    )
    session.add(line)
    session.flush()
    return line.id


def _grow(desk: WholeDesk) -> None:
    """Thousands of athletes with settings, and more of all else."""
    club, held = desk.club, desk.held
    with club.work(writes=True) as session:
        piece = apparatus.piece(session, held.apparatus_id)
        known = models.model(session, piece.model_id).model
        added = models.add_model(session, replace(known, name="Hall frame B"))
        for name in ("Bars in the annexe", "Bars in the store"):
            other = apparatus.add_piece(session, name, "", added.id, 0)
            apparatus.record_setup(session, other.id, piece.must_stand_somewhere(), "")
            report(session, other.id, name)
        wanted = setting_of_setup(known, piece.must_stand_somewhere())
        settings.keep_setting(session, int(str(desk.ids["athlete_id"])), added.id, wanted)
        for number in range(OTHERS):
            person = Person(f"Guest {number:02}", "Lia")
            guest = entries.enter_guest(
                session, held.meet_id, person, "Wexlow Turners", str(100 + number)
            )
            settings.keep_setting(session, guest.member.id, piece.model_id, wanted)
            leave_out(session, held, number + 2)
            report(session, held.apparatus_id, f"grown {number}")
    with club.store.installation(writes=True) as session:
        rows = session.connection()
        athlete = session.get_one(Athlete, desk.ids["athlete_id"])
        rows.execute(insert(Athlete.__table__), [_one_of_many(athlete, n) for n in range(ATHLETES)])
        for statement in _THEIR_SETTINGS:
            rows.execute(text(statement), {"athlete": athlete.id})
        if club.data.server:  # as it does by itself a minute after so many came
            gather_statistics(rows, Base.metadata.sorted_tables)


def _one_of_many(like: Athlete, number: int) -> dict[str, object]:
    names = {"family_name": f"Many {number:05}", "given_name": "Ann", "group_name": like.group_name}
    of_the_club = {"club_id": like.club_id, "created_at": like.created_at, "created_by": BY}
    return {**of_the_club, **names, **made_of(names)}


_THEIR_SETTINGS = (
    """
    insert into setting (club_id, athlete_id, model_id, version, recorded_at, recorded_by, reason)
    select known.club_id, many.id, known.model_id, 1, known.recorded_at, known.recorded_by, ''
    from setting as known, athlete as many
    where known.athlete_id = :athlete and known.version = 1 and many.searched like 'many %'
    """,
    """
    insert into setting_value (club_id, setting_id, axis, wanted_mm, accepts_mm, weight, as_read)
    select own.club_id, own.id, known.axis, known.wanted_mm, known.accepts_mm, known.weight, ''
    from setting as own join athlete as many on many.id = own.athlete_id
    join setting as first on first.model_id = own.model_id and first.athlete_id = :athlete
                             and first.version = 1
    join setting_value as known on known.setting_id = first.id
    where many.searched like 'many %'
    """,
)
