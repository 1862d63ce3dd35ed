"""A squad too large for one page, in the demo club."""

from sqlalchemy.orm import Session

from settingsdesk.desk.hall import apparatus
from settingsdesk.store.athletes import Athlete
from settingsdesk.store.settings import Setting, SettingValue
from tests.conftest import DemoClub
from tests.made_once import made_once

BY = "Runa"
IN_A_GROUP = 10


def join(club: DemoClub, how_many: int, *, with_settings: bool = True) -> list[int]:
    """So many newcomers, "Zorn 000, Ada" and on, ten to a group "Crowd 0" and on: their numbers.

    Each has a setting for the bars by the window.
    """
    crowd = "a crowd", how_many, with_settings
    return made_once(club.store, crowd, lambda: _join(club, how_many, with_settings))


def _join(club: DemoClub, how_many: int, with_settings: bool) -> list[int]:
    with club.work(writes=True) as session:
        crowd = [
            Athlete(
                family_name=f"Zorn {number:03}",
                given_name="Ada",
                group_name=f"Crowd {number // IN_A_GROUP}",
                created_by=BY,
            )
            for number in range(how_many)
        ]
        session.add_all(crowd)
        session.flush()
        if with_settings:
            _settings(session, crowd)
        return [athlete.id for athlete in crowd]


def _settings(session: Session, crowd: list[Athlete]) -> None:
    bars = next(one for one in apparatus.all_pieces(session) if one.name == "Bars by the window")
    session.add_all(
        Setting(
            athlete_id=athlete.id,
            model_id=bars.model_id,
            version=1,
            recorded_by=BY,
            values=[
                SettingValue(axis=axis.key, wanted_mm=mm)
                for axis, mm in zip(bars.model.kind.axes, (1700, 2500, 1700), strict=True)
            ],
        )
        for athlete in crowd
    )
