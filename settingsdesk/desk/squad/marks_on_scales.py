"""On which scales an athlete's marks are said, and what they are there."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import OnOwnScales, Piece
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.desk.squad.typed_marks import AS_PRINTED
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.transfer import transfer
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class OnScale:
    """Where marks are read: at one apparatus, or by the scale of a model as it is printed.

    ``model`` is on that scale. ``piece`` is the name of the apparatus, empty for the printed one.
    """

    key: str
    version: ModelVersion
    model: ApparatusModel
    piece: str = ""

    @property
    def called(self) -> str:
        """What it is called: "Hall frame A at Bars by the window"."""
        name = self.version.model.name
        return f"{name} at {self.piece}" if self.piece else f"{name}, {AS_PRINTED}"


@dataclass(frozen=True, slots=True)
class MarksFor:
    """The marks of one athlete for one model, in the order of its adjustments.

    ``wanted_for`` is the model, and the purpose where that is not the usual one. No marks
    where its marks of the spread cannot be told (``ApparatusModel.lacks_drop``).
    """

    wanted_for: str
    marks: tuple[str, ...]


def scales(session: ClubSession) -> list[OnScale]:
    """Every scale of the club, model by model; those of its apparatus first."""
    versions = desk_models.all_models(session)
    pieces = desk_apparatus.on_own_scales(session, versions)
    return [
        scale for version in versions for scale in _scales_of(version, pieces.get(version.id, ()))
    ]


def key_at(piece: Piece) -> str:
    """The key of the scale at which marks are read at an apparatus."""
    return f"apparatus-{piece.id}" if piece.own_scales else f"model-{piece.model_id}"


def _scales_of(version: ModelVersion, pieces: Iterable[OnOwnScales]) -> list[OnScale]:
    at_pieces = [
        OnScale(f"apparatus-{piece.id}", version, piece.model, piece.name) for piece in pieces
    ]
    return [*at_pieces, OnScale(f"model-{version.id}", version, version.model)]


def usual_scales(known: Iterable[OnScale]) -> dict[int, OnScale]:
    """On which scale the marks of each model are said, by the model's number.

    That of its apparatus where the club has one, and the printed one where it has several.
    """
    of_models: dict[int, list[OnScale]] = {}
    for scale in known:
        of_models.setdefault(scale.version.id, []).append(scale)
    return {
        model_id: some[0] if len(some) == 2 else some[-1] for model_id, some in of_models.items()
    }


def marks_of_each(
    session: ClubSession, athlete_ids: Collection[int]
) -> tuple[dict[int, list[MarksFor]], list[OnScale]]:
    """The marks of some athletes for every model that they have a setting for.

    And the scales that they are of.
    """
    usual = usual_scales(scales(session))
    versions = [scale.version for scale in usual.values()]
    wanted = desk_settings.latest_by_model(session, athlete_ids, versions)
    told: dict[int, list[MarksFor]] = {athlete_id: [] for athlete_id in athlete_ids}
    used: list[OnScale] = []
    for (model_id, _), of_each in wanted.items():
        scale = usual[model_id]
        if of_each and scale not in used:
            used.append(scale)
        for athlete_id, version in of_each.items():
            told[athlete_id].append(MarksFor(version.wanted_for, _marks(scale, version)))
    return told, used


def _marks(scale: OnScale, version: SettingVersion) -> tuple[str, ...]:
    if scale.model.lacks_drop:
        return ()
    return tuple(scale.model.marks(transfer(version.setting, scale.model).best.setup).values())
