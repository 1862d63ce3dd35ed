"""Checks of an apparatus: made, kept word for word, and when each is due again."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from settingsdesk.desk.checks import findings
from settingsdesk.desk.checks.check_lists import check_list, check_lists
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import in_use, photos
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.photos import Photo
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence, Series, marked
from settingsdesk.domain.checks.checks import (
    Answer,
    Answered,
    Besides,
    CheckItem,
    CheckList,
    Due,
    Group,
    Occasion,
    Reply,
    Standing,
    answered,
    next_due,
)
from settingsdesk.store import checks as kept_checks
from settingsdesk.store import findings as kept_findings
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

NEVER_MADE = marked(
    "The %(check)s is on record as never made; made today, it counts as the check before use."
)
OVERDUE = marked("The %(check)s is overdue; made today, it counts as the check before use.")


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What a record holds besides the answers (DGUV Information 202-044, section 1).

    ``made_by`` looked, ``second_by`` looked again; empty where the check was made alone.
    ``recheck`` says what has to be looked at again, by ``recheck_on`` where a day was set.
    """

    made_on: date
    place: str
    made_by: str
    second_by: str = ""
    address: str = ""
    remark: str = ""
    recheck: str = ""
    recheck_on: date | None = None


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """One item of a check as it was shown and answered."""

    group: Group | Besides
    words: str
    source: str
    answer: Answer
    together: bool
    remark: str
    photo_id: int | None
    finding_id: int | None


@dataclass(frozen=True, slots=True)
class Check:
    """A check on record."""

    id: int
    apparatus_id: int
    occasion: Occasion
    list_version: int
    at: datetime
    recorded_by: str
    told: Circumstances
    answers: tuple[KeptAnswer, ...]

    @property
    def doubted(self) -> bool:
        """Whether further use was doubted: in doubt out of use, so that is a withdrawal."""
        return any(answer.answer is Answer.WITHDRAW for answer in self.answers)

    @property
    def faults(self) -> tuple[KeptAnswer, ...]:
        """Every item that was not in order."""
        return tuple(answer for answer in self.answers if answer.answer is not Answer.IN_ORDER)

    @property
    def together(self) -> int:
        """How many items were put in order in one press."""
        return sum(answer.together for answer in self.answers)


@dataclass(frozen=True, slots=True)
class Recheck:
    """What a check left to be looked at again, ``by`` a day where one was set.

    It is open until a check answers it, whatever else was checked since: ``item`` is what it is
    in the checks that come.
    """

    check_id: int
    what: str
    by: date | None
    noted_on: date

    @property
    def in_words(self) -> str:
        """What, and by when: "the pin, by 1 January 2027"."""
        by = f", by {day_in_words(self.by)}" if self.by else ""
        return f"{self.what or 'The apparatus'}{by}"

    @property
    def item(self) -> CheckItem:
        """What is looked at for it, besides the items of a list."""
        return CheckItem(
            kept_checks.answers_recheck(self.check_id),
            Besides.LOOK_AGAIN,
            self.in_words,
            f"noted in the check of {day_in_words(self.noted_on)}",
        )

    def is_due(self, on: date) -> bool:
        """Whether the day that was set has come."""
        return self.by is not None and on >= self.by

    def is_overdue(self, on: date) -> bool:
        """Whether it has gone by without anybody looking."""
        return self.by is not None and on > self.by


@dataclass(frozen=True, slots=True)
class Care:
    """How an apparatus is looked after: its checks at intervals, and the one of the day.

    ``checked_on`` is the day of the last check that is as good as the one before use, and
    ``is_void`` says that it does not count: the apparatus is out of use, or was since. Made after
    the fault was said to be repaired it ``counts_once_released``.
    ``rechecks`` are what its checks left to be looked at again and none has answered yet.
    """

    piece: Piece
    dues: tuple[Due, ...]
    checked_on: date | None
    is_void: bool
    counts_once_released: bool
    rechecks: tuple[Recheck, ...]

    def calls(self, on: date) -> tuple[Due, ...]:
        """The checks that are overdue, due soon, or were never made."""
        return tuple(due for due in self.dues if due.standing(on) is not Standing.MADE)

    def first(self, on: date) -> Occasion | None:
        """The check that comes first on that day, before anybody goes up; None where it is made."""
        is_made = self.checked_on == on and not self.is_void
        return None if is_made else Occasion.BEFORE_USE

    def first_in_words(self, on: date) -> str:
        """What is first to be done on that day, and which check that is due counts for it too."""
        if self.first(on) is None:
            return Sentence("The check before use was made today.")
        told = self._last_in_words()
        thorough = [due for due in self.calls(on) if due.standing(on) is not Standing.DUE_SOON]
        if not thorough:
            return told
        due = thorough[0]
        form = NEVER_MADE if due.standing(on) is Standing.NEVER_MADE else OVERDUE
        counts_too = Sentence(form, check=due.occasion.in_a_sentence)
        return Series((told, counts_too), " ")

    def _last_in_words(self) -> Sentence:
        if not self.checked_on:
            return Sentence("First the check before use: it was never made.")
        day = day_in_words(self.checked_on)
        if self.is_void:
            return Sentence(
                "First the check before use: it was made last on %(day)s, and %(apparatus)s has"
                " been out of use since.",
                day=day,
                apparatus=self.piece.name,
            )
        return Sentence("First the check before use: it was made last on %(day)s.", day=day)


def make_check(
    session: ClubSession,
    apparatus_id: int,
    occasion: Occasion,
    shown_version: int,
    replies: Mapping[str, Reply],
    told: Circumstances,
    press_key: str,
    *,
    photos_of: Mapping[str, Photo] | None = None,
    rest_in_order: bool = False,
    together: Collection[Group] = (),
) -> Check:
    """Keep a check of the list that was shown; a note or a withdrawal opens a finding.

    What earlier checks left to be looked at again (``open_rechecks``) can be answered too, each by
    itself; left untouched it stays open. The same press a second time gives back the first. Raises
    ``ListChanged`` where the list is no longer the one that was shown, or where somebody else has
    looked again meanwhile, ``NobodyLooked``, ``NotMadeYet``, ``LookedAtBefore``, or what
    ``answered`` raises.
    """
    made = kept_checks.check_by_press(session, press_key)
    if made is not None:
        return _read(made)
    piece = desk_apparatus.piece(session, apparatus_id)
    asked = check_list(session, piece.model.kind.key, occasion)
    if asked.version != shown_version:
        raise ListChanged
    again = [recheck.item for recheck in open_rechecks(session, apparatus_id)]
    if _answered_meanwhile(replies, again):
        raise ListChanged
    results = answered(
        asked, replies, rest_in_order=rest_in_order, together=together, besides=again
    )
    if not told.made_by.strip():
        raise NobodyLooked
    if told.made_on > today():
        raise NotMadeYet(told.made_on)
    if told.recheck_on is not None and told.recheck_on < told.made_on:
        raise LookedAtBefore(told.recheck_on, told.made_on)
    row = _row(session.by, apparatus_id, occasion, shown_version, told, press_key)
    row.recorded_at = in_use.not_before_release(session, apparatus_id, utc_now())
    row.answers = [
        _answer(session, row, place, result, (photos_of or {}).get(result.item.key))
        for place, result in enumerate(results, start=1)
    ]
    session.add(row)
    session.flush()
    return _read(row)


def check(session: ClubSession, check_id: int) -> Check:
    """One check; ``NotInThisClub`` where there is none."""
    return _read(kept_checks.check_by_id(session, check_id))


def checks_of(session: ClubSession, apparatus_id: int, limit: int = 20) -> list[Check]:
    """The last checks of an apparatus, the newest first."""
    return [_read(row) for row in kept_checks.checks_of(session, apparatus_id, limit)]


def open_rechecks(session: ClubSession, apparatus_id: int) -> list[Recheck]:
    """What the checks of an apparatus left to be looked at again, the oldest first."""
    return [_recheck(row) for row in kept_checks.open_rechecks(session, apparatus_id)]


def _answered_meanwhile(replies: Mapping[str, Reply], again: Sequence[CheckItem]) -> bool:
    known = {item.key for item in again}
    return any(key.startswith(kept_checks.ANSWERS_RECHECK) and key not in known for key in replies)


def cares(session: ClubSession, pieces: Sequence[Piece]) -> list[Care]:
    """How each of those apparatus is looked after, in three queries whatever their number."""
    numbers = [piece.id for piece in pieces]
    counting = kept_checks.checks_that_count(session, numbers)
    put_right = kept_findings.put_right(session, numbers)
    latest = {(row.apparatus_id, row.occasion): row for row, is_last, _ in counting if is_last}
    again = [row for row, _, is_open in counting if is_open]
    lists = check_lists(session, sorted({piece.model.kind.key for piece in pieces}))
    return [_care(piece, latest, lists, again, put_right.get(piece.id, ())) for piece in pieces]


def _care(
    piece: Piece,
    latest: Mapping[tuple[int, str], kept_checks.ApparatusCheck],
    lists: Mapping[tuple[str, Occasion], CheckList],
    again: Sequence[kept_checks.ApparatusCheck],
    put_right: Iterable[datetime | None],
) -> Care:
    own = {
        occasion: latest[piece.id, occasion.value]
        for occasion in Occasion
        if (piece.id, occasion.value) in latest
    }
    days = {occasion: row.made_on for occasion, row in own.items()}
    dues = tuple(
        next_due(occasion, _last(days, occasion), months)
        for occasion in Occasion
        if (months := lists[piece.model.kind.key, occasion].months) is not None
    )
    checked_on = _last(days, Occasion.BEFORE_USE)
    recorded = [row.recorded_at for row in own.values() if row.made_on == checked_on]
    counts = all(since is not None and any(at >= since for at in recorded) for since in put_right)
    is_out_of_use = piece.withdrawal is not None
    return Care(
        piece=piece,
        dues=dues,
        checked_on=checked_on,
        is_void=is_out_of_use or not counts,
        counts_once_released=is_out_of_use and counts,
        rechecks=tuple(_recheck(row) for row in again if row.apparatus_id == piece.id),
    )


def _recheck(row: kept_checks.ApparatusCheck) -> Recheck:
    return Recheck(row.id, row.recheck, row.recheck_on, row.made_on)


def _last(days: Mapping[Occasion, date], occasion: Occasion) -> date | None:
    """When that check was made last; a more thorough one is as good."""
    ranks = [Occasion.BEFORE_USE, Occasion.OPERATIONAL, Occasion.YEARLY]
    as_good = ranks[ranks.index(occasion) :] if occasion in ranks else [occasion]
    return max((days[occasion] for occasion in as_good if occasion in days), default=None)


def _row(
    by: str,
    apparatus_id: int,
    occasion: Occasion,
    list_version: int,
    told: Circumstances,
    press_key: str,
) -> kept_checks.ApparatusCheck:
    return kept_checks.ApparatusCheck(
        apparatus_id=apparatus_id,
        occasion=occasion.value,
        list_version=list_version,
        made_on=told.made_on,
        place=told.place.strip(),
        made_by=told.made_by.strip(),
        address=told.address.strip(),
        second_by=told.second_by.strip(),
        remark=told.remark.strip(),
        recheck=told.recheck.strip(),
        recheck_on=told.recheck_on,
        press_key=press_key,
        recorded_by=by,
    )


def _answer(
    session: ClubSession,
    row: kept_checks.ApparatusCheck,
    place: int,
    result: Answered,
    photo: Photo | None,
) -> kept_checks.CheckAnswer:
    photo_id = photos.keep_photo(session, photo)
    finding_id = None
    if result.answer is not Answer.IN_ORDER:
        finding_id = findings.for_answer(
            session,
            row.apparatus_id,
            result,
            withdraws=result.answer is Answer.WITHDRAW,
            press_key=row.press_key,
            photo_id=photo_id,
        )
    return kept_checks.CheckAnswer(
        place=place,
        item=result.item.key,
        group_key=result.item.group.value,
        words=result.item.words,
        source=result.item.source,
        answer=result.answer.value,
        together=result.together,
        remark=result.remark,
        photo_id=photo_id,
        finding_id=finding_id,
    )


def _read(row: kept_checks.ApparatusCheck) -> Check:
    return Check(
        id=row.id,
        apparatus_id=row.apparatus_id,
        occasion=Occasion(row.occasion),
        list_version=row.list_version,
        at=row.recorded_at,
        recorded_by=row.recorded_by,
        told=Circumstances(
            made_on=row.made_on,
            place=row.place,
            made_by=row.made_by,
            second_by=row.second_by,
            address=row.address,
            remark=row.remark,
            recheck=row.recheck,
            recheck_on=row.recheck_on,
        ),
        answers=tuple(_read_answer(answer) for answer in row.answers),
    )


def _read_answer(row: kept_checks.CheckAnswer) -> KeptAnswer:
    return KeptAnswer(
        group=_group(row.group_key),
        words=row.words,
        source=row.source,
        answer=Answer(row.answer),
        together=row.together,
        remark=row.remark,
        photo_id=row.photo_id,
        finding_id=row.finding_id,
    )


def _group(key: str) -> Group | Besides:
    return Besides.LOOK_AGAIN if key == Besides.LOOK_AGAIN.value else Group(key)


class ListChanged(SettingsDeskError):
    """The check list was changed while a check was being filled in."""

    sentence = (
        "The check list was changed while this check was being filled in. What you answered"
        " stands below; look at the items that are new, and press once more"
    )


class NobodyLooked(SettingsDeskError):
    """A check that nobody made."""

    sentence = "Enter who made the check"


class LookedAtBefore(SettingsDeskError):
    """Something is to be looked at again by a day before the check that leaves it."""

    def __init__(self, recheck_on: date, made_on: date) -> None:
        self.recheck_on, self.made_on = recheck_on, made_on

    def __str__(self) -> str:
        return (
            f"The day by which it is looked at again must be {day_in_words(self.made_on)}, the day"
            f" of the check, or after; {day_in_words(self.recheck_on)} is before it"
        )


class NotMadeYet(SettingsDeskError):
    """A check of a day to come."""

    def __init__(self, made_on: date) -> None:
        self.made_on = made_on

    def __str__(self) -> str:
        return (
            f"The day of the check must be today or before; {day_in_words(self.made_on)} is to come"
        )
