"""Settings that were typed as marks, once the scale that they were typed on is told otherwise.

A mark that was read at an apparatus is what the athlete wants there. Where its model is corrected,
the mark is still right and the length that was worked out from it is not.
"""

import re
from collections.abc import Iterator, Mapping
from contextlib import suppress

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import NewSetting, SettingVersion
from settingsdesk.desk.squad.typed_settings import AsTyped, setting_typed
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.work import ClubSession

_MARK = re.compile(r"mark (?P<label>.+?)(?: of (?P<piece>.+))?")


def anybodys(session: ClubSession, model_id: int) -> int:
    """Of how many athletes a setting for the model was typed as marks."""
    return len(kept_settings.athletes_by_mark(session, model_id))


def keep(session: ClubSession, model_id: int, reason: str) -> int:
    """Let every present setting that was typed as marks have them on the model as it is now.

    How many have further versions now. One whose marks the model no longer has stays as it was.
    """
    changed = list(_changed(session, model_id, reason))
    desk_settings.keep_settings(session, changed)
    return len(changed)


def _changed(session: ClubSession, model_id: int, reason: str) -> Iterator[NewSetting]:
    ids = kept_settings.athletes_by_mark(session, model_id)
    present = desk_settings.latest_of_each(session, ids, model_id)
    printed = desk_models.model(session, model_id).model
    own = {
        piece.name: piece.model
        for piece in desk_apparatus.all_pieces(session)
        if piece.model_id == model_id
    }
    for version in present.values():
        read = {axis: _MARK.fullmatch(words) for axis, words in version.as_read.items()}
        marks = {axis: found for axis, found in read.items() if found}
        model = next((own.get(found["piece"] or "", printed) for found in marks.values()), None)
        if model is None:
            continue
        with suppress(SettingsDeskError):
            typed = _typed(model, version, {axis: one["label"] for axis, one in marks.items()})
            setting = setting_typed(model, typed)
            if setting.axes != version.setting.axes:
                yield NewSetting(
                    version.athlete_id,
                    model_id,
                    version.version + 1,
                    setting,
                    reason,
                    version.as_read,
                )


def _typed(
    model: ApparatusModel, version: SettingVersion, marks: Mapping[str, str]
) -> dict[str, AsTyped]:
    typed = {}
    for axis, wanted in version.setting.axes.items():
        stop = model.axis(axis).scale.stop_of(marks[axis]) if axis in marks else None
        length_mm = wanted.wanted_mm if stop is None else None
        typed[axis] = AsTyped(length_mm, stop, wanted.accepts_mm, wanted.weight)
    return typed
