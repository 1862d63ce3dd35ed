"""The squad's marks beside each other, row by row, and what of a row is kept once it is changed.

A setting is lengths. What stands in a row are the marks that come nearest to all of them on one
scale; a mark that is typed in their place is what is wanted from then on. The lengths beside it
stay as they were, unless another mark would then be the nearest to one of them: the row says the
mark, so its length follows from it, and somebody is asked.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.marks_on_scales import OnScale
from settingsdesk.desk.squad.settings import NewSetting, SettingVersion, UsualOneFirst
from settingsdesk.desk.squad.typed_marks import in_words
from settingsdesk.desk.squad.typed_settings import AsTyped, setting_typed
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import AxisKind
from settingsdesk.domain.base.sentences import Series
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import Setup
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.domain.settings.transfer import setting_of_setup, transfer
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Row:
    """One athlete with the marks on a scale; None where there is no setting for its model.

    ``purpose`` is what the setting is for. ``usual`` is the usual one, beside which one for another
    purpose stands: a new one accepts what that does, and is as little tried.
    """

    member: Member
    present: SettingVersion | None
    stops: Setup | None
    purpose: Purpose = USUAL
    usual: SettingVersion | None = None

    @property
    def lacks_usual(self) -> bool:
        """Whether no setting for its purpose can be kept before there is a usual one."""
        return self.purpose is not USUAL and self.usual is None


@dataclass(frozen=True, slots=True)
class Follows:
    """A length that nobody touched and that becomes another one, since its mark stays."""

    axis: AxisKind
    mark: str
    before_mm: int
    now_mm: int

    def told(self, unit: Unit) -> str:
        """As it is asked about: "rail spread stays at 170.0, which is 172.4 cm then"."""
        return (
            f"{self.axis.in_a_sentence} stays at mark {self.mark}, and its length becomes"
            f" {length_in_words(self.now_mm, unit)} instead of"
            f" {length_in_words(self.before_mm, unit)}"
        )


@dataclass(frozen=True, slots=True)
class Changed:
    """What is to be kept of a row, and which lengths follow from marks that were left."""

    kept: NewSetting
    follows: tuple[Follows, ...]


def rows(
    session: ClubSession, scale: OnScale, members: Sequence[Member], purpose: Purpose = USUAL
) -> list[Row]:
    """Those athletes with their marks for a purpose on a scale, in their order."""
    ids = [member.id for member in members]
    found = desk_settings.latest_by_model(session, ids, [scale.version], {USUAL, purpose})
    usual, wanted = (found[scale.version.id, one] for one in (USUAL, purpose))
    return [
        _row(scale, member, purpose, wanted.get(member.id), usual.get(member.id))
        for member in members
    ]


def listed(session: ClubSession, athlete_ids: Sequence[int]) -> list[Member]:
    """Those athletes in that order, without who has left the club or counts no more meanwhile."""
    known = desk_athletes.members(session, athlete_ids)
    return [known[one] for one in athlete_ids if one in known and known[one].left_on is None]


def changed(scale: OnScale, row: Row, stops: Sequence[int | None], reason: str) -> Changed | None:
    """What is to be kept of a row at those stops; None where nothing is changed in it.

    Raises ``MarksLacking`` where an adjustment has none, or what ``setting_typed`` does.
    """
    if all(stop is None for stop in stops) and row.stops is None:
        return None
    whole = tuple(stop for stop in stops if stop is not None)
    if len(whole) < len(stops):
        axes = [axis.kind for axis, at in zip(scale.model.axes, stops, strict=True) if at is None]
        raise MarksLacking(axes)
    if whole == row.stops:
        return None
    if row.lacks_usual:
        raise UsualOneFirst(scale.version.model, row.purpose)
    setting, by_mark = _setting(scale, row, whole)
    before = row.present or row.usual
    kept = NewSetting(
        row.member.id,
        scale.version.id,
        row.present.version + 1 if row.present else 1,
        setting,
        reason,
        _as_read(scale, row, whole, by_mark),
        untried=before is not None and before.untried,
        purpose=row.purpose,
    )
    return Changed(kept, tuple(_following(scale, row, whole, setting)))


def _row(
    scale: OnScale,
    member: Member,
    purpose: Purpose,
    present: SettingVersion | None,
    usual: SettingVersion | None,
) -> Row:
    stops = transfer(present.setting, scale.model).best.setup if present else None
    return Row(member, present, stops, purpose, usual)


def _setting(scale: OnScale, row: Row, stops: Setup) -> tuple[Setting, frozenset[str]]:
    """The setting of a row, and of which axes its lengths are those of their marks."""
    axes = scale.model.axes
    every = frozenset(axis.key for axis in axes)
    before = row.present or row.usual
    if before is None:
        return setting_of_setup(scale.model, stops), every
    stood = row.stops or (None,) * len(axes)
    by_mark = frozenset(
        axis.key for axis, at, now in zip(axes, stood, stops, strict=True) if at != now
    )
    while True:
        setting = setting_typed(scale.model, _typed(scale, before, stops, by_mark))
        nearest = transfer(setting, scale.model).best.setup
        moving = {axis.key for axis, at, now in zip(axes, nearest, stops, strict=True) if at != now}
        if not moving - by_mark:
            return setting, by_mark
        by_mark |= moving


def _typed(
    scale: OnScale, present: SettingVersion, stops: Setup, by_mark: Collection[str]
) -> dict[str, AsTyped]:
    typed = {}
    for axis, stop in zip(scale.model.axes, stops, strict=True):
        wanted, is_mark = present.setting.axes[axis.key], axis.key in by_mark
        typed[axis.key] = AsTyped(
            None if is_mark else wanted.wanted_mm,
            stop if is_mark else None,
            wanted.accepts_mm,
            wanted.weight,
        )
    return typed


def _following(scale: OnScale, row: Row, stops: Setup, setting: Setting) -> Iterator[Follows]:
    """The lengths that follow from marks which nobody touched."""
    if row.present is None or row.stops is None:
        return
    for axis, at, now in zip(scale.model.axes, row.stops, stops, strict=True):
        before_mm = row.present.setting.axes[axis.key].wanted_mm
        now_mm = setting.axes[axis.key].wanted_mm
        if at == now and before_mm != now_mm:
            yield Follows(axis.kind, axis.scale.label(now), before_mm, now_mm)


def _as_read(scale: OnScale, row: Row, stops: Setup, by_mark: Collection[str]) -> Mapping[str, str]:
    """What was typed: marks, and of lengths that stayed what was typed of them before."""
    kept = row.present.as_read if row.present else {}
    return {
        axis.key: in_words(axis.scale.label(now), scale.piece)
        if axis.key in by_mark
        else kept.get(axis.key, "")
        for axis, now in zip(scale.model.axes, stops, strict=True)
    }


class MarksLacking(SettingsDeskError):
    """Some adjustments of a row have a mark, and others none."""

    def __init__(self, axes: Sequence[AxisKind]) -> None:
        self.axes = tuple(axes)

    def __str__(self) -> str:
        lacking = Series([axis.in_a_sentence for axis in self.axes], "and")
        return (
            f"The mark of the {lacking} is missing, and a setting needs every adjustment; nothing"
            " of a setting is deleted here"
        )
