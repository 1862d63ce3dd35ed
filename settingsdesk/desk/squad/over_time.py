"""An athlete's setting over time: every version, confirmation and note of growth, as a picture.

The same as rows, the newest first, for whoever reads it as a table.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from settingsdesk.desk.clock import local_date, today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.desk.squad.still_right import Confirmation, GrowthNote
from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.over_time import AxisOverTime, Occasions, Since, over_time
from settingsdesk.domain.settings.transfer import transfer


@dataclass(frozen=True, slots=True)
class Row:
    """What happened at a moment; ``lengths`` are a version's, each with its mark, by axis."""

    at: datetime
    what: str
    by: str
    lengths: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class OverTime:
    """One setting over time; ``marks_of`` says on whose scale the marks are, as it is today."""

    model_id: int
    called: str
    axes: tuple[str, ...]
    drawing: Drawing
    rows: tuple[Row, ...]
    marks_of: str


def of_setting(
    versions: Sequence[SettingVersion],
    confirmations: Mapping[int, Sequence[Confirmation]],
    growth: Sequence[GrowthNote],
    printed: ApparatusModel,
    pieces: Sequence[Piece],
    unit: Unit,
) -> OverTime:
    """The versions of one setting, the newest first, on the scale of the first of ``pieces``.

    Where the hall has none of its model, on the printed scale.
    """
    model, marks_of = (pieces[0].model, pieces[0].name) if pieces else (printed, printed.name)
    marks = {version.id: _marks(version, model) for version in versions}
    confirmed = [one for version in versions for one in confirmations.get(version.id, ())]
    latest = versions[0]
    axes = [
        AxisOverTime(
            axis.name,
            canonical_in_words(axis),
            tuple(
                Since(
                    local_date(version.recorded_at),
                    version.setting.axes[axis.key].wanted_mm,
                    marks[version.id][axis.key],
                )
                for version in reversed(versions)
            ),
        )
        for axis in latest.setting.kind.axes
    ]
    seen = Occasions(
        tuple(local_date(one.at) for one in confirmed), tuple(local_date(one.at) for one in growth)
    )
    return OverTime(
        model_id=latest.model_id,
        called=latest.wanted_for,
        axes=tuple(axis.name for axis in axes),
        drawing=over_time(f"Setting for {latest.wanted_for}", axes, seen, today(), unit),
        rows=_rows(versions, marks, confirmed, growth, unit),
        marks_of=marks_of,
    )


def _marks(version: SettingVersion, model: ApparatusModel) -> dict[str, str]:
    """Its closest marks; none of a spread whose marks say nothing yet."""
    return {
        fit.axis.key: "" if fit.lacks_drop else fit.mark
        for fit in transfer(version.setting, model).best.axes
    }


def _rows(
    versions: Sequence[SettingVersion],
    marks: Mapping[int, Mapping[str, str]],
    confirmed: Sequence[Confirmation],
    growth: Sequence[GrowthNote],
    unit: Unit,
) -> tuple[Row, ...]:
    numbers = {version.id: version.version for version in versions}
    rows = [
        *(
            Row(
                version.recorded_at,
                f"Version {version.version}",
                version.recorded_by,
                tuple(
                    (
                        marks[version.id][axis.key],
                        str(length_in_words(version.setting.axes[axis.key].wanted_mm, unit)),
                    )
                    for axis in version.setting.kind.axes
                ),
            )
            for version in versions
        ),
        *(Row(one.at, f"Version {numbers[one.setting_id]} confirmed", one.by) for one in confirmed),
        *(Row(one.at, "Has grown", one.by) for one in growth if one.at >= versions[-1].recorded_at),
    ]
    return tuple(sorted(rows, key=lambda row: row.at, reverse=True))
