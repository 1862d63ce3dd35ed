"""The demo's meet: read from ``seed/meet.toml``, held by the demo club in its own hall."""

import tomllib
from collections.abc import Iterator, Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, mats_of_day, models
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.meets.facts import MeetFacts
from settingsdesk.desk.meets.meets import Meet
from settingsdesk.desk.meets.start_orders import Place
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.clubs import account_by_sign_in_name
from settingsdesk.store.work import ClubSession, Store


def hold(store: Store, club_id: int, seed: Path) -> Meet:
    """Put the meet on the desk of the demo club, with entries, settings and start orders."""
    told = _read(seed / "meet.toml")
    coach = _read(seed / "club.toml")["coach"]
    with store.installation(writes=False) as session:
        account = account_by_sign_in_name(session, coach["sign_in_name"])
    by, number = coach["shown_name"], account.id if account else None
    with store.work(club_id, by=by, account=number, writes=True) as session:
        meet = meets.add_meet(session, _facts(told))
        pieces = {piece.name: piece.id for piece in apparatus.all_pieces(session)}
        for name in told["apparatus"]:
            meets.put_apparatus(session, meet.id, pieces[name], told["rule_book"])
        for line in told["mats"]:
            on = meet.facts.begins_on
            mats_of_day.lie_on(session, pieces[line["apparatus"]], on, line["more_mm"])
        parts = [
            meets.add_session(
                session, meet.id, part["name"], meet.facts.begins_on, part["begins_at"]
            )
            for part in told["session"]
        ]
        guests = {guest.start_number: guest for guest in _guests(session, meet.id, told)}
        own = {entrant.start_number: entrant for entrant in _own(session, meet.id, told)}
        for line in told["raise"]:
            _ask_to_raise(session, guests[line["number"]], pieces[line["apparatus"]], line)
        for line in told["order"]:
            place = Place(parts[0].id, line["rotation"], pieces[line["apparatus"]])
            _set_order(session, place, line["numbers"], guests, own)
        return meets.meet(session, meet.id)


def _read(file: Path) -> dict[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))


def _facts(told: Mapping[str, Any]) -> MeetFacts:
    held_on = today() + timedelta(days=told["days_ahead"])
    until = MeetFacts.usual_end_of_cards(held_on)
    return MeetFacts(told["name"], told["hall"], held_on, held_on, until, told["note"])


def _guests(session: ClubSession, meet_id: int, told: Mapping[str, Any]) -> Iterator[Entrant]:
    known = {version.model.name: version for version in models.all_models(session)}
    version = known[told["model"]]
    kind = version.model.kind
    for club in told["club"]:
        for entry in club["guests"]:
            person = Person(entry["family"], entry["given"])
            guest = entries.enter_guest(session, meet_id, person, club["name"], entry["number"])
            lengths = zip(kind.axes, entry["wants"], told["accepts_mm"], strict=True)
            wanted = {axis.key: Wanted(mm, accepts_mm) for axis, mm, accepts_mm in lengths}
            setting = Setting(kind, wanted)
            settings.keep_setting(session, guest.member.id, version.id, setting)
            yield guest


def _own(session: ClubSession, meet_id: int, told: Mapping[str, Any]) -> Iterator[Entrant]:
    squad = {member.listed_name: member.id for member in athletes.find(session)}
    for entry in told["own"]:
        yield entries.enter_own(session, meet_id, squad[entry["athlete"]], entry["number"])


def _ask_to_raise(
    session: ClubSession, guest: Entrant, apparatus_id: int, line: Mapping[str, Any]
) -> None:
    entries.tell_raise(
        session,
        guest.entry_id,
        apparatus_id,
        "asked",
        line["raise_mm"],
        line["told_by"],
        today(),
    )


def _set_order(
    session: ClubSession,
    place: Place,
    numbers: list[str],
    guests: Mapping[str, Entrant],
    own: Mapping[str, Entrant],
) -> None:
    if numbers:
        listed = [guests[number].member.id for number in numbers]
        start_orders.set_new(session, place, listed, "typed")
    else:
        start_orders.draw(session, place, [entrant.member.id for entrant in own.values()])
