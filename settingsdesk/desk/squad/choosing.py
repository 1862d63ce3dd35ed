"""Choosing athletes out of a squad of any size: some names at a time, whoever is ticked stays."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad.athletes import AT_ONCE, Member, member_of
from settingsdesk.domain.base.kinds import Kind
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.store import athletes as kept_athletes
from settingsdesk.store import meets as kept_meets
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.athletes import Question
from settingsdesk.store.settings import Models
from settingsdesk.store.work import ClubSession

MOST_AT_ONCE = 300
"""So many are ticked at one press at most."""


@dataclass(frozen=True, slots=True)
class Sought:
    """Which names are looked for: words of names, a group, how many at once, how many came before.

    ``words`` and ``group`` empty stand for the whole squad, of which those in ``besides`` are not
    looked for.
    """

    words: str = ""
    group: str = ""
    most: int = AT_ONCE
    after: int = 0
    besides: Collection[int] = ()


@dataclass(frozen=True, slots=True)
class Offer:
    """Who can be chosen.

    ``found`` are those looked for, ``further`` says that there are more than these, ``ticked`` are
    all who are ticked already, found or not. ``without`` are those looked for who cannot be
    chosen, ``more_without`` says that these are only the first. All are by family name.
    """

    found: tuple[Member, ...]
    further: bool
    ticked: tuple[Member, ...]
    groups: Sequence[str]
    without: tuple[Member, ...] = ()
    more_without: bool = False

    @property
    def members(self) -> tuple[Member, ...]:
        """Whoever is ticked and was not looked for, then those found."""
        found = {member.id for member in self.found}
        return (*(member for member in self.ticked if member.id not in found), *self.found)


def for_kind(
    session: ClubSession, kind: Kind, sought: Sought, ticked: Collection[int] = ()
) -> Offer:
    """Those of the squad who have a setting for a kind of apparatus."""
    return _with_one(session, kept_settings.models_of_kind(kind.key), sought, ticked)


def for_kind_or_lacking(
    session: ClubSession, kind: Kind, sought: Sought, ticked: Collection[int] = ()
) -> Offer:
    """The same; ``without`` have none."""
    return with_setting(session, kept_settings.models_of_kind(kind.key), sought, ticked)


def lacking(session: ClubSession, kind: Kind, groups: Collection[str]) -> tuple[Member, ...]:
    """Who of some groups has no setting for a kind of apparatus; of no group, nobody."""
    models = kept_settings.models_of_kind(kind.key)
    squad = kept_athletes.of_squad()
    without, _ = _some(session, kept_settings.with_one(squad, models, lacking=True))
    named = {name for name in groups if name}
    return tuple(member for member in without if member.person.group_name in named)


def with_setting(
    session: ClubSession,
    models: Models,
    sought: Sought,
    ticked: Collection[int] = (),
    *,
    purpose: Purpose = USUAL,
) -> Offer:
    """Those of the squad who have a setting for one of the models; ``without`` have none."""
    offer = _with_one(session, models, sought, ticked, purpose)
    lacking = kept_settings.with_one(_looked_for(sought), models, lacking=True, purpose=purpose)
    without, more = _some(session, lacking, AT_ONCE)
    return replace(offer, without=without, more_without=more)


def with_one_for(session: ClubSession, models: Models, sought: Sought) -> Offer:
    """The same without those who have none."""
    return _with_one(session, models, sought, ())


def pages(session: ClubSession, model_id: int, group: str = "", purpose: Purpose = USUAL) -> int:
    """How many pages those of a group, or of the squad, with a setting for a model fill."""
    squad = kept_athletes.of_squad(group=group)
    asked = kept_settings.with_one(squad, [model_id], purpose=purpose)
    return max(1, -(-kept_athletes.count(session, asked) // AT_ONCE))


def anybody(session: ClubSession, sought: Sought, ticked: Collection[int] = ()) -> Offer:
    """Those of the squad, with a setting or without."""
    stay = kept_athletes.present_among(ticked)
    return _offer(session, _looked_for(sought), sought, stay if ticked else None)


def not_entered(
    session: ClubSession, meet_id: int, sought: Sought, ticked: Collection[int] = ()
) -> Offer:
    """Those of the squad who never were entered for a meet; who is ticked stays all the same."""
    found = kept_meets.not_entered(_looked_for(sought), meet_id)
    stay = kept_athletes.present_among(ticked)
    return _offer(session, found, sought, stay if ticked else None)


def _with_one(
    session: ClubSession,
    models: Models,
    sought: Sought,
    ticked: Collection[int],
    purpose: Purpose = USUAL,
) -> Offer:
    found = kept_settings.with_one(_looked_for(sought), models, purpose=purpose)
    stay = kept_settings.each_with_one(kept_athletes.present_among(ticked), models)
    return _offer(session, found, sought, stay if ticked else None)


def _offer(session: ClubSession, asked: Question, sought: Sought, ticked: Question | None) -> Offer:
    """Some of those asked for, and those of the ticked ones that may stay; None without any."""
    found, further = _some(session, asked, sought.most, sought.after)
    stay = _some(session, ticked)[0] if ticked is not None else ()
    return Offer(found, further, stay, desk_athletes.groups(session))


def _looked_for(sought: Sought) -> Question:
    return kept_athletes.besides(kept_athletes.of_squad(sought.words, sought.group), sought.besides)


def _some(
    session: ClubSession, asked: Question, most: int | None = None, after: int = 0
) -> tuple[tuple[Member, ...], bool]:
    """At most so many of them, and whether there are more."""
    rows = kept_athletes.by_name(session, asked, most and most + 1, after)
    return tuple(member_of(row) for row in rows[:most]), most is not None and len(rows) > most
