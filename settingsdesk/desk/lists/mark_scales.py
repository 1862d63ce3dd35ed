"""On whose scale the marks of a list are read.

A mark that a coach knows from these bars means these bars: where the club's apparatus of a model
has a scale of its own, that one counts and not the one in the maker's leaflet. A guest's marks are
from another hall, so they are read as printed until somebody says otherwise.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.squad.typed_marks import AS_PRINTED
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.store.work import ClubSession

PRINTED = "printed"
NOT_SAID = (
    "marks are given, and {names} do not have the same scale: say at which of them they were read"
)


@dataclass(frozen=True, slots=True)
class MarkScale:
    """The scale of one model: ``model`` has it, and is None while somebody has to choose.

    ``pieces`` are the club's apparatus of the model where one of them has a scale of its own;
    ``chosen`` is the number of one as text, ``PRINTED``, or empty.
    """

    model: ApparatusModel | None
    in_words: str
    pieces: tuple[Piece, ...] = ()
    chosen: str = ""

    @property
    def why_not(self) -> str:
        """Why no mark can be read while nobody has said on which scale."""
        return NOT_SAID.format(names=" and ".join(piece.name for piece in self.pieces))


def mark_scales(
    session: ClubSession,
    versions: Iterable[ModelVersion],
    said: Mapping[str, str],
    *,
    are_ours: bool,
) -> dict[int, MarkScale]:
    """The scale for each model, by its number; ``said`` is what was chosen, by the model's name.

    ``are_ours`` says whether the list is about the club's own athletes.
    """
    pieces: dict[int, list[Piece]] = {}
    for piece in desk_apparatus.all_pieces(session):
        pieces.setdefault(piece.model_id, []).append(piece)
    return {
        version.id: _scale(
            version.model, pieces.get(version.id, ()), said.get(version.model.name, ""), are_ours
        )
        for version in versions
    }


def _scale(
    printed: ApparatusModel, pieces: Sequence[Piece], said: str, are_ours: bool
) -> MarkScale:
    if not any(piece.own_scales for piece in pieces):
        return MarkScale(printed, AS_PRINTED)
    there = tuple(pieces)
    by_number = {str(piece.id): piece for piece in there}
    usual = (str(there[0].id) if len(there) == 1 else "") if are_ours else PRINTED
    chosen = said if said in (PRINTED, *by_number) else usual
    if piece := by_number.get(chosen):
        return MarkScale(piece.model, f"{piece.name}: {piece.scale_used}", there, chosen)
    if chosen == PRINTED:
        return MarkScale(printed, AS_PRINTED, there, chosen)
    return MarkScale(None, "", there)
