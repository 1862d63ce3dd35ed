"""The demo: one invented club, read from the files of ``seed/`` into an empty desk."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from settingsdesk.desk.accounts import accounts
from settingsdesk.desk.accounts.clubs import make_club
from settingsdesk.desk.checks import checks, findings, parts
from settingsdesk.desk.checks.check_lists import shipped_list
from settingsdesk.desk.checks.checks import Circumstances
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, calibrations, mark_photos, models
from settingsdesk.desk.hall import rule_books as desk_rule_books
from settingsdesk.desk.hall.calibrations import Taped
from settingsdesk.desk.hall.conversions import setup_of_labels
from settingsdesk.desk.hall.photos import read_small_photo
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import athletes
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.checks.checks import Answer, Reply, occasion_of
from settingsdesk.domain.checks.findings import step_of
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.store.work import ClubSession, Store

BY = "demo"


@dataclass(frozen=True, slots=True)
class Demo:
    """What the demo put on the desk: whom to sign in as, and tonight's rotations."""

    club_id: int
    sign_in_name: str
    rotation_ids: tuple[int, ...]


def load(store: Store, seed: Path, password: str) -> Demo:
    """Put the demo club on an empty desk, with a coach of that password."""
    told = tomllib.loads((seed / "club.toml").read_text(encoding="utf-8"))
    club_id = make_club(store, told["name"], Unit(told["length_unit"]))
    rotation_ids = fill(store, club_id, seed)
    coach = told["coach"]
    accounts.add_account(store, club_id, coach["sign_in_name"], coach["shown_name"], password)
    return Demo(club_id, coach["sign_in_name"], rotation_ids)


def fill(store: Store, club_id: int, seed: Path) -> tuple[int, ...]:
    """Put all that the demo club has into a club that has nothing: its rotations' numbers."""
    told = tomllib.loads((seed / "club.toml").read_text(encoding="utf-8"))
    with store.work(club_id, by=BY, writes=True) as session:
        desk_rule_books.keep_shipped(session, seed / "rulebooks.toml")
        for data in _read(seed / "models.toml")["model"]:
            models.add_model(session, model_from_data(data))
        pieces = {line["key"]: _add_piece(session, line) for line in told["apparatus"]}
        content = (seed / "squad.csv").read_bytes()
        taker = Squad(session)
        coach_lists.take(session, taker, coach_lists.look(session, taker, content, "squad.csv"))
        squad = {member.listed_name: member.id for member in athletes.find(session)}
        rotation_ids = tuple(
            _add_rotation(session, line, pieces, squad) for line in told["rotation"]
        )
        _look_after(session, told, pieces)
    return rotation_ids


def say_where_marks_are_read(store: Store, club_id: int, seed: Path) -> None:
    """Put what the demo club says of where its models' marks are read, with its pictures."""
    told = tomllib.loads((seed / "club.toml").read_text(encoding="utf-8"))
    with store.work(club_id, by=BY, writes=True) as session:
        for line in told["mark"]:
            sent = (seed / line["photo"]).read_bytes() if "photo" in line else None
            photo = read_small_photo(sent) if sent else None
            model_id = models.id_of(session, line["model"])
            mark_photos.keep(session, model_id, line["axis"], line["words"], photo)


def _add_piece(session: ClubSession, line: Mapping[str, Any]) -> int:
    by_name = {version.model.name: version for version in models.all_models(session)}
    version = by_name[line["model"]]
    piece = apparatus.add_piece(session, line["name"], line["place"], version.id, line["mat_mm"])
    setup = setup_of_labels(piece.model, line["setup"])
    apparatus.record_setup(session, piece.id, setup, "as it stood when the demo began")
    for told in line.get("calibration", []):
        taped = [Taped(label, length_mm) for label, length_mm in told["taped"]]
        fitted = apparatus.try_on_piece(apparatus.piece(session, piece.id), told["axis"], taped)
        calibrations.keep_calibration(session, piece.id, told["axis"], fitted, told["taken_on"])
    return piece.id


def _add_rotation(
    session: ClubSession,
    line: Mapping[str, Any],
    pieces: Mapping[str, int],
    squad: Mapping[str, int],
) -> int:
    athlete_ids = [squad[name] for name in line["athletes"]]
    apparatus_id = pieces[line["apparatus"]]
    view = desk_rotation.add_rotation(session, line["name"], today(), apparatus_id, athlete_ids)
    return desk_rotation.order_anew(session, view.id).id


def _look_after(session: ClubSession, told: Mapping[str, Any], pieces: Mapping[str, int]) -> None:
    """Checks of the past, a fault that was repaired, and the parts in stock."""
    for line in told["check"]:
        for key in line["apparatus"]:
            _add_check(session, line, pieces[key])
    for line in told["finding"]:
        found = findings.add_finding(
            session,
            pieces[line["apparatus"]],
            line["words"],
            withdraws=False,
            press_key=f"demo {line['apparatus']}",
        )
        for step, remark in line["steps"]:
            findings.take_step(session, found.id, step_of(step), remark)
    for line in told["part"]:
        part = parts.add_part(session, line["name"], line["kind"], line["minimum"])
        parts.count_part(session, part.id, line["counted"])


def _add_check(session: ClubSession, line: Mapping[str, Any], apparatus_id: int) -> None:
    occasion = occasion_of(line["occasion"])
    piece = apparatus.piece(session, apparatus_id)
    items = shipped_list(piece.model.kind.key, occasion).items
    told = Circumstances(
        made_on=today() - timedelta(days=line["days_ago"]),
        place=piece.place,
        made_by=line["made_by"],
        second_by=line.get("second_by", ""),
        address=line.get("address", ""),
    )
    checks.make_check(
        session,
        apparatus_id,
        occasion,
        0,
        {item.key: Reply(Answer.IN_ORDER) for item in items},
        told,
        press_key=f"demo {occasion.value} {apparatus_id}",
    )


def _read(file: Path) -> dict[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))
