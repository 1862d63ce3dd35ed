"""A hall to test in: the models of the seed, and bars of two of them."""

import tomllib
from dataclasses import dataclass

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.resources import folder
from settingsdesk.store.work import Store
from tests.made_once import made_once

BY = "Edda Quill"


@dataclass(frozen=True)
class Hall:
    """The numbers of what stands in the hall, and of every model by its name."""

    club_id: int
    bars: int
    beam: int
    models: dict[str, int]


def furnish(store: Store, club_id: int) -> Hall:
    """Put the seed's models, one pair of uneven bars and one beam into a club.

    The bars are of "Hall frame A" with 20 cm of mats, at marks 4, 5 and 150.0.
    """
    return made_once(store, ("a hall", club_id), lambda: _furnish(store, club_id))


def _furnish(store: Store, club_id: int) -> Hall:
    told = tomllib.loads((folder("seed") / "models.toml").read_text(encoding="utf-8"))
    with store.work(club_id, by=BY, writes=True) as session:
        ids = {
            version.model.name: version.id
            for data in told["model"]
            for version in [models.add_model(session, model_from_data(data))]
        }
        bars = apparatus.add_piece(session, "Bars 1", "Hall one", ids["Hall frame A"], 200)
        apparatus.record_setup(session, bars.id, (3, 4, 20), "read off")
        beam = apparatus.add_piece(session, "Beam 1", "", ids["Beam A"], 0)
    return Hall(club_id, bars.id, beam.id, ids)
