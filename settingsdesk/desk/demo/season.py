"""The demo's seasons, from ``seed/season.toml``: settings of the past, confirmed and outgrown.

And one that is not tried, and those for training and learning with a rotation that goes by them.
"""

import tomllib
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from settingsdesk.desk.clock import now, today
from settingsdesk.desk.demo.club import BY
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.squad import athletes, settings
from settingsdesk.domain.settings.purposes import Purpose
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store import settings as kept_settings
from settingsdesk.store import still_right as kept_still_right
from settingsdesk.store.growth import Growth
from settingsdesk.store.settings import SettingConfirmation
from settingsdesk.store.work import ClubSession, Store


def look_back(store: Store, club_id: int, seed: Path) -> None:
    """Put the demo club's past seasons on its desk."""
    told = tomllib.loads((seed / "season.toml").read_text(encoding="utf-8"))
    with store.work(club_id, by=BY, writes=True) as session:
        squad = {member.listed_name: member.id for member in athletes.find(session)}
        by_name = {version.model.name: version for version in models.all_models(session)}
        for line in told["past"]:
            _add_past(session, squad[line["athlete"]], by_name[line["model"]], line)
        for line in told["begun"]:
            model_id = by_name[line["model"]].id
            settings.begin_with(session, squad[line["athlete"]], model_id, squad[line["mate"]])
        for line in told["beside"]:
            _add_beside(session, squad[line["athlete"]], by_name[line["model"]], line)
        for line in told["rotation"]:
            _add_rotation(session, line, [squad[name] for name in line["athletes"]])
        for line in told["grown"]:
            note = Growth(
                athlete_id=squad[line["athlete"]],
                number=kept_still_right.next_growth(session),
                recorded_at=_ago(line["days_ago"]),
                recorded_by=BY,
            )
            session.add(note)
            session.flush()


def _add_beside(
    session: ClubSession, athlete_id: int, version: ModelVersion, line: Mapping[str, Any]
) -> None:
    kind = version.model.kind
    lengths = zip(kind.axes, line["wants"], line["accepts_mm"], strict=True)
    wanted = {axis.key: Wanted(mm, accepts_mm) for axis, mm, accepts_mm in lengths}
    setting, purpose = Setting(kind, wanted), Purpose(line["purpose"])
    settings.keep_setting(session, athlete_id, version.id, setting, line["reason"], purpose=purpose)


def _add_rotation(
    session: ClubSession, line: Mapping[str, Any], athlete_ids: Sequence[int]
) -> None:
    pieces = {piece.name: piece.id for piece in apparatus.all_pieces(session)}
    asked = OrderRequest(purpose=Purpose(line["purpose"]))
    view = rotation.add_rotation(
        session, line["name"], today(), pieces[line["apparatus"]], athlete_ids, asked
    )
    rotation.order_anew(session, view.id)


def _ago(days: int) -> datetime:
    return now() - timedelta(days=days)


def _add_past(
    session: ClubSession, athlete_id: int, version: ModelVersion, line: Mapping[str, Any]
) -> None:
    """Versions as they were kept then; a confirmation is of the one that counted on its day."""
    rows = [
        kept_settings.add_one(
            session,
            {
                "athlete_id": athlete_id,
                "model_id": version.id,
                "version": number,
                "recorded_at": _ago(told["days_ago"]),
                "recorded_by": BY,
                "reason": told["reason"],
            },
            [
                {"axis": axis.key, "wanted_mm": wanted_mm, "accepts_mm": accepts_mm}
                for axis, wanted_mm, accepts_mm in zip(
                    version.model.kind.axes, told["wants"], line["accepts_mm"], strict=True
                )
            ],
        )
        for number, told in enumerate(line["versions"], start=1)
    ]
    for days in line["confirmed_days_ago"]:
        counted = [row for row in rows if row.recorded_at < _ago(days)]
        session.add(
            SettingConfirmation(
                athlete_id=athlete_id,
                setting_id=counted[-1].id,
                recorded_at=_ago(days),
                recorded_by=BY,
            )
        )
    session.flush()
