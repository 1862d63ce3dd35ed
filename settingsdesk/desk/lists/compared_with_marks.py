"""Lengths of a list beside the marks of their model: what no mark comes to, and what lies half-way.

They are taken as they stand; it is said of them, so that somebody sees it who can ask.
"""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import NamedTuple

from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.hall.scales import OutsideScale
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.domain.settings.transfer import transfer
from settingsdesk.sheets.lists.preview import Accepted, Query

NEAR_MM = 5
"""Nearer than this to the end of a scale, whether a mark reaches a length is worked out in full."""
NOT_REACHED = "{model} has no such mark. {warning}. It is taken as it stands: is it right?"
HALF_WAY = (
    "It lies half-way between two marks of {model}: mark {mark} counts, and mark {other} is as"
    " near. To choose, write the mark, or the length there"
)


class SaidOfLength(NamedTuple):
    """What is said of one length, and whether it is that two marks are as near."""

    query: Query
    is_half_way: bool


@dataclass(slots=True)
class ComparedWithMarks:
    """Compares the lengths of one list; what was found of a length is not worked out again."""

    _half_way: dict[tuple[str, str, int], bool] = field(default_factory=dict)

    def said(
        self, model: ApparatusModel, setting: Setting, lengths: Mapping[str, Accepted]
    ) -> list[SaidOfLength]:
        """What is said of the lengths, by axis key, from which that setting was made."""
        if not (_may_be_beyond(model, setting) or self._may_be_half_way(model, setting)):
            return []
        found = []
        for fit in transfer(setting, model).best.axes:
            value = lengths.get(fit.axis.key)
            if value is None or fit.lacks_drop or not (fit.out_of_range or fit.as_near):
                continue
            why = (
                NOT_REACHED.format(warning=fit.warning, model=model.name)
                if fit.out_of_range
                else HALF_WAY.format(model=model.name, mark=fit.mark, other=fit.as_near)
            )
            query = Query(*value.place, value.read, why, value.person, is_only_said=True)
            found.append(SaidOfLength(query, not fit.out_of_range))
        return found

    def _may_be_half_way(self, model: ApparatusModel, setting: Setting) -> bool:
        """Whether a length that no other axis shifts lies half-way between two marks.

        Most do not, and this takes a moment beside finding the closest stops.
        """
        for axis in model.axes:
            wanted_mm = setting.axes[axis.key].wanted_mm
            asked = (model.name, axis.key, wanted_mm)
            if asked not in self._half_way:
                stops: tuple[int, ...] = ()
                with suppress(OutsideScale):
                    stops = axis.scale.nearest(wanted_mm - model.alone_mm(axis, 0.0)).stops
                self._half_way[asked] = len(stops) > 1
            if self._half_way[asked]:
                return True
        return False


def _may_be_beyond(model: ApparatusModel, setting: Setting) -> bool:
    """Whether a length comes near the ends of its scale, the others being as they are wanted.

    Most do not, and this takes a moment beside finding the closest stops.
    """
    readings_mm = {
        axis.key: setting.axes[axis.key].wanted_mm - model.alone_mm(axis, 0.0)
        for axis in model.axes
    }
    for axis in model.axes:
        wanted_mm = setting.axes[axis.key].wanted_mm
        for stop, past in ((0, -1), (axis.scale.count - 1, 1)):
            end_mm = {**readings_mm, axis.key: axis.scale.length_mm(stop)}
            beyond_mm = past * (wanted_mm - model.measures_at_mm(end_mm)[axis.key])
            if beyond_mm > -NEAR_MM:
                return True
    return False
