"""A second club on the demo's desk that keeps something of everything, each with one odd word.

Where that word comes out to a stranger or to somebody of the demo club, clubs are not apart.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import Flask
from sqlalchemy import ColumnElement, Table, select, update

from settingsdesk.desk.accounts import invitations, sign_ins
from settingsdesk.desk.accounts.accounts import new_account
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.cards import issued, remarks
from settingsdesk.desk.demo.club import fill
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.runs import run
from settingsdesk.desk.stations import stations
from settingsdesk.resources import folder
from settingsdesk.store.base import Base
from settingsdesk.store.clubs import Club
from settingsdesk.web.frame.work import code_key
from tests.conftest import Account, DemoClub
from tests.desk.sample_meet import hold
from tests.web.whole_desk import leave_out, report

WORD = "Vexmoor"
"""No page, list or seed file has it."""

ROWS_OF: Mapping[str, str] = {
    "athlete_id": "athlete",
    "apparatus_id": "apparatus",
    "calibration_id": "calibration",
    "card_id": "card",
    "check_id": "apparatus_check",
    "club_id": "club",
    "entry_id": "entry",
    "finding_id": "finding",
    "invitation_id": "invitation",
    "line_id": "left_out",
    "meet_id": "meet",
    "membership_id": "membership",
    "model_id": "apparatus_model",
    "part_id": "part",
    "phone_id": "station_phone",
    "photo_id": "photo",
    "remark_id": "card_remark",
    "rotation_id": "rotation",
    "run_id": "run",
    "session_id": "meet_session",
    "sign_in_id": "sign_in",
    "station_id": "station",
}
"""The table of which an address has a number, by the name that the number has there."""

TOLD_BY_PEOPLE: Mapping[str, Sequence[str]] = {
    "athlete": ("family_name", "given_name", "printed_name", "searched"),
    "apparatus": ("name", "place"),
    "apparatus_check": ("place", "made_by", "remark", "second_by"),
    "apparatus_model": ("name",),
    "apparatus_setup": ("how",),
    "card_remark": ("said",),
    "change": ("by",),
    "check_answer": ("words",),
    "club": ("name",),
    "entry": ("from_club",),
    "finding": ("words",),
    "finding_step": ("remark",),
    "invitation": ("shown_name",),
    "left_out": ("read", "why"),
    "meet": ("name", "hall"),
    "meet_session": ("name",),
    "membership": ("shown_name",),
    "part": ("name",),
    "rotation": ("name",),
    "rule_book": ("name",),
    "station_phone": ("shown_name",),
}
"""What the odd word is put before, of all that is that club's."""


@dataclass(frozen=True)
class AnotherClub:
    """Its number, and the numbers of its rows by the name that addresses have for them."""

    club_id: int
    numbers: Mapping[str, Sequence[int]]


def put_another_club(desk: DemoClub, app: Flask) -> AnotherClub:
    """Have it on that desk: what the demo club is, once more."""
    with desk.store.installation(writes=True) as session:
        club = Club(name="Club")
        session.add(club)
        session.flush()
        coach = new_account(session, club.id, "vex", "Coach", "-", Role.OWNER)
        account = Account(club.id, coach.account_id, "vex", "")
        sign_ins.begin(session, coach)
    rotation_ids = fill(desk.store, account.club_id, folder("seed"))
    other = DemoClub(desk.data, desk.store, account)
    _fill(other, app, rotation_ids[0])
    with desk.store.installation(writes=True) as session:
        database = session.connection()
        for name, columns in TOLD_BY_PEOPLE.items():
            table = Base.metadata.tables[name]
            for column in columns:
                word = WORD.lower() if column == "searched" else WORD
                told = update(table).values({column: word + table.c[column]})
                database.execute(
                    told.where(_whose(table) == account.club_id, table.c[column] != "")
                )
        numbers = {
            name: database.scalars(
                select(table.c.id).where(_whose(table) == account.club_id).order_by(table.c.id)
            ).all()
            for name, table in ((name, Base.metadata.tables[of]) for name, of in ROWS_OF.items())
        }
    return AnotherClub(account.club_id, numbers)


def _whose(table: Table) -> ColumnElement[int]:
    return table.c.id if table.name == "club" else table.c.club_id


def _fill(club: DemoClub, app: Flask, rotation_id: int) -> None:
    """What the demo's files do not have: a meet, a card, a run, a station, a fault, a link."""
    held = hold(club)
    with app.test_request_context():
        key = code_key()
    with club.work(writes=True) as session:
        athlete_id = held.guests[0].member.id
        [card] = issued.issue(session, key, held.apparatus_id, [athlete_id])
        report(session, held.apparatus_id, "1")
        leave_out(session, held, 1)
        station = stations.open_station(session, key, held.session_id, held.apparatus_id)
        codes = stations.codes(session, key, station.id)
        invitations.invite(session, club.data.secret_key(), Role.COACH, "Cy Moor")
        [apparatus_id, *_] = rotation.rotation(session, rotation_id).pieces
        run.begin(session, rotation_id, apparatus_id)
    stations.let_in(club.store, key, codes.short_code, "Ivo")
    remarks.receive(club.store, card.url.rpartition("/")[2], "The low rail felt high")
