"""The demo: one invented club, read from the files of ``seed/`` into an empty desk."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from settingsdesk.desk import accounts, apparatus, athletes, calibrations, models, rotations
from settingsdesk.desk import rulebooks as desk_rulebooks
from settingsdesk.desk.calibrations import Taped
from settingsdesk.desk.clock import today
from settingsdesk.desk.clubs import make_club
from settingsdesk.desk.convert import setup_of_labels
from settingsdesk.desk.squad_sheets import squad_columns, take_import
from settingsdesk.domain.definition import model_from_data
from settingsdesk.domain.figures import Unit
from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.squad_reading import read_squad
from settingsdesk.store.work import Store

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
    with store.work(club_id, writes=True) as session:
        desk_rulebooks.keep_shipped(session, BY, seed / "rulebooks.toml")
        for data in _read(seed / "models.toml")["model"]:
            models.add_model(session, BY, model_from_data(data))
        pieces = {line["key"]: _add_piece(session, line) for line in told["apparatus"]}
        content = (seed / "squad.csv").read_bytes()
        take_import(session, BY, read_squad(read_table(content, "squad.csv"), squad_columns()))
        squad = {member.listed_name: member.id for member in athletes.find(session)}
        rotation_ids = tuple(
            _add_rotation(session, line, pieces, squad) for line in told["rotation"]
        )
    coach = told["coach"]
    accounts.add_coach(store, club_id, coach["sign_in_name"], coach["shown_name"], password)
    return Demo(club_id, coach["sign_in_name"], rotation_ids)


def _add_piece(session: Session, line: Mapping[str, Any]) -> int:
    by_name = {version.model.name: version for version in models.all_models(session)}
    version = by_name[line["model"]]
    piece = apparatus.add_piece(session, line["name"], line["place"], version.id, line["mat_mm"])
    setup = setup_of_labels(piece.model, line["setup"])
    apparatus.record_setup(session, BY, piece.id, setup, "as it stood when the demo began")
    for told in line.get("calibration", []):
        taped = [Taped(label, length_mm) for label, length_mm in told["taped"]]
        fitted = apparatus.try_on_piece(session, piece.id, told["axis"], taped)
        calibrations.keep_calibration(session, BY, piece.id, told["axis"], fitted, told["taken_on"])
    return piece.id


def _add_rotation(
    session: Session, line: Mapping[str, Any], pieces: Mapping[str, int], squad: Mapping[str, int]
) -> int:
    athlete_ids = [squad[name] for name in line["athletes"]]
    apparatus_id = pieces[line["apparatus"]]
    view = rotations.add_rotation(session, BY, line["name"], today(), apparatus_id, athlete_ids)
    return rotations.order_anew(session, BY, view.id).id


def _read(file: Path) -> dict[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))
