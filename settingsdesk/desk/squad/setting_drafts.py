"""What a list told of settings that are not whole, kept until somebody completes them.

A draft is no setting: nothing is ordered, set or printed by it. It only fills in the form.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.purposes import USUAL
from settingsdesk.store import setting_drafts as kept_drafts
from settingsdesk.store.setting_drafts import SettingDraft
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Half:
    """One axis that is known: its canonical length or the label of its mark, and as it was read."""

    length_mm: int | None
    mark: str | None
    as_read: str


@dataclass(frozen=True, slots=True)
class Draft:
    """What is known of one athlete's setting on one model.

    ``marks_of`` says on whose scale marks are: the number of an apparatus as text, a word for the
    printed scale, or empty where nobody has said.
    """

    athlete_id: int
    model_id: int
    axes: Mapping[str, Half]
    marks_of: str = ""

    def lacking(self, model: ApparatusModel) -> list[str]:
        """The axes that nobody has told yet, in words."""
        return [axis.kind.in_a_sentence for axis in model.axes if axis.key not in self.axes]


def of_athlete(
    session: ClubSession, athlete_id: int, current: Iterable[SettingVersion]
) -> list[Draft]:
    """The drafts of an athlete; of a model for which nothing whole was kept since.

    ``current`` are the settings that the athlete has now; a draft is of the usual one.
    """
    since = {version.model_id: version.id for version in current if version.purpose is USUAL}
    return [
        _read(row)
        for row in kept_drafts.of_athlete(session, athlete_id)
        if row.model_id not in since or row.after_setting >= since[row.model_id]
    ]


def keep_all(session: ClubSession, drafts: Sequence[Draft]) -> None:
    """Keep drafts; each takes the place of the one before it."""
    rows = [
        {
            "athlete_id": draft.athlete_id,
            "model_id": draft.model_id,
            "axes": {
                key: {"length_mm": half.length_mm, "mark": half.mark, "as_read": half.as_read}
                for key, half in draft.axes.items()
            },
            "marks_of": draft.marks_of,
            "kept_by": session.by,
        }
        for draft in drafts
    ]
    if rows:
        kept_drafts.add_all(session, rows)


def _read(row: SettingDraft) -> Draft:
    halves = {
        key: Half(told["length_mm"], told["mark"], told["as_read"])
        for key, told in row.axes.items()
    }
    return Draft(row.athlete_id, row.model_id, halves, row.marks_of)
