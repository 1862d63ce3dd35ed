"""Settings that were typed as marks, once the scale that they were typed on is told otherwise.

A mark that was read at an apparatus is what the athlete wants there. Where its model is corrected,
or it is calibrated, the mark is still right and the length that was worked out from it is not.
"""

import re
from collections.abc import Iterator, Mapping, Set
from contextlib import suppress
from dataclasses import dataclass

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import NewSetting, SettingVersion
from settingsdesk.desk.squad.typed_settings import AsTyped, setting_typed
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.work import ClubSession

AS_PRINTED = "the scale as it is printed in the maker's leaflet"
_MARK = re.compile(r"mark (?P<label>.+?)(?: of (?P<piece>.+))?")
_LISTED = re.compile(r".*\(mark (?P<label>.+?)(?:, (?P<piece>[^:]+): .+|, " + AS_PRINTED + r")?\)")


def in_words(label: str, piece: str = "") -> str:
    """What is kept of a typed mark: "mark 5 of Bars by the door", or of the printed scale."""
    return f"mark {label} of {piece}" if piece else f"mark {label}"


def listed_in_words(read: str, converted: str, scale: str = "") -> str:
    """What is kept of a cell of a list: what stood there, and what it is on which scale."""
    return f"{read} ({converted}, {scale})" if scale else f"{read} ({converted})"


def mark_told(words: str) -> re.Match[str] | None:
    """The ``label`` of the mark in such words, and of which ``piece``; None where it is none."""
    return _MARK.fullmatch(words) or _LISTED.fullmatch(words)


@dataclass(frozen=True, slots=True)
class Kept:
    """How many settings have their marks on the model as it is now; ``left`` could not, by name."""

    count: int
    left: tuple[str, ...]


def anybodys(session: ClubSession, model_id: int) -> int:
    """Of how many athletes a setting for the model was typed as marks."""
    return len(kept_settings.athletes_by_mark(session, model_id))


def read_at(session: ClubSession, piece: Piece) -> int:
    """Of how many athletes the present setting was typed as marks of that very apparatus.

    Marks of the printed scale are among them where it is the only one of its model: they were read
    there.
    """
    scales = _scales(session, piece.model_id)
    return sum(1 for _ in _marked(session, piece.model_id, _names_of(piece.name, scales)))


def keep(session: ClubSession, model_id: int, reason: str, at: str = "") -> Kept:
    """Let every present setting that was typed as marks have them on the model as it is now.

    One whose marks the model no longer has, or that were read at an apparatus which is not known
    by that name any more, stays as it was. ``at`` is the name of the only apparatus whose marks
    are looked at: it alone was calibrated.
    """
    scales = _scales(session, model_id)
    names = _names_of(at, scales) if at else frozenset[str]()
    if at:
        scales = {**scales, "": scales[at]}
    else:
        scales[""] = desk_models.model(session, model_id).model
    changed: list[NewSetting] = []
    left: list[int] = []
    for version, marks in _marked(session, model_id, names):
        setting = _with_marks(version, marks, scales)
        if setting is None:
            left.append(version.athlete_id)
        elif setting.axes != version.setting.axes:
            changed.append(
                NewSetting(
                    version.athlete_id,
                    model_id,
                    version.version + 1,
                    setting,
                    reason,
                    _as_read_at(version, marks, at),
                    version.looked,
                    version.untried,
                    version.purpose,
                )
            )
    desk_settings.keep_settings(session, changed)
    members = desk_athletes.members(session, left) if left else {}
    return Kept(len(changed), tuple(members[athlete_id].listed_name for athlete_id in left))


def _scales(session: ClubSession, model_id: int) -> dict[str, ApparatusModel]:
    """The model as each apparatus of it has it, by the apparatus's name."""
    return {
        piece.name: piece.model
        for piece in desk_apparatus.all_pieces(session)
        if piece.model_id == model_id
    }


def _names_of(at: str, scales: Mapping[str, ApparatusModel]) -> frozenset[str]:
    """By what names the scale of an apparatus is told: its own, and none where it is the only."""
    return frozenset({at, ""} if len(scales) == 1 else {at})


def _as_read_at(
    version: SettingVersion, marks: Mapping[str, re.Match[str]], at: str
) -> Mapping[str, str]:
    """What was typed; of a mark of no named apparatus, at which one it was read."""
    plain = {
        axis: in_words(found["label"], at)
        for axis, found in marks.items()
        if at and not found["piece"] and version.as_read[axis].startswith("mark ")
    }
    return {**version.as_read, **plain}


def _marked(
    session: ClubSession, model_id: int, names: Set[str]
) -> Iterator[tuple[SettingVersion, Mapping[str, re.Match[str]]]]:
    """The present settings with marks, by axis; of ``names``, where any is given, alone."""
    ids = kept_settings.athletes_by_mark(session, model_id)
    model = desk_models.model(session, model_id)
    latest = desk_settings.latest_by_model(session, ids, [model])
    for version in (version for theirs in latest.values() for version in theirs.values()):
        read = {axis: mark_told(words) for axis, words in version.as_read.items()}
        marks = {axis: found for axis, found in read.items() if found}
        if marks and (not names or {found["piece"] or "" for found in marks.values()} <= names):
            yield version, marks


def _with_marks(
    version: SettingVersion,
    marks: Mapping[str, re.Match[str]],
    scales: Mapping[str, ApparatusModel],
) -> Setting | None:
    """The setting with its marks as ``scales`` have them; None where they do not."""
    read_on = [scales.get(found["piece"] or "") for found in marks.values()]
    model = read_on[0]
    if model is None or any(other != model for other in read_on):
        return None
    with suppress(SettingsDeskError):
        labels = {axis: found["label"] for axis, found in marks.items()}
        return setting_typed(model, _typed(model, version, labels))
    return None


def _typed(
    model: ApparatusModel, version: SettingVersion, marks: Mapping[str, str]
) -> dict[str, AsTyped]:
    typed = {}
    for axis, wanted in version.setting.axes.items():
        stop = model.axis(axis).scale.stop_of(marks[axis]) if axis in marks else None
        length_mm = wanted.wanted_mm if stop is None else None
        typed[axis] = AsTyped(length_mm, stop, wanted.accepts_mm, wanted.weight)
    return typed
