"""A card that another desk printed, held out at a station: its lengths, in the marks of what stands
here, beside what is entered for whoever is expected.

Nothing is asked of the other desk. The line of lengths says neither whose they are nor whether they
count, so nothing is ever set by it alone.
"""

from collections.abc import Mapping
from dataclasses import replace

from settingsdesk.desk.cards.read_off import ReadOff
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.stations.at_station import AtStation
from settingsdesk.desk.stations.confirming import Standing
from settingsdesk.desk.stations.listed import (
    Listed,
    Place,
    before_the_coach_has_said,
    expected,
    listed_at,
)
from settingsdesk.desk.stations.verdict import ASK_FIRST, Compared, Kind, Verdict, told
from settingsdesk.domain.base.datums import canonical_in_words
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.models import Axis
from settingsdesk.domain.settings.lengths_line import LineRefused
from settingsdesk.domain.settings.transfer import AxisFit, Transfer, transfer
from settingsdesk.store.work import ClubSession

PRINTED_ELSEWHERE = Sentence(
    "A card that was printed elsewhere tells lengths, not whose they are, nor whether they still"
    " count."
)
TYPE_ITS_LINE = Sentence(
    "Its code opens nothing here: if a long line of digits is printed on it, type that."
)


def printed_elsewhere(
    session: ClubSession, here: AtStation, standing: Standing, shown: ReadOff
) -> Verdict:
    """What the line of a card wants here, beside what is entered for whoever is expected."""
    listed = listed_at(session, standing, here.phone.length_unit)
    try:
        setting = shown.setting
    except LineRefused as refusal:
        return _says_no_lengths(Sentence("%(refusal)s.", refusal=str(refusal)), listed)
    if setting is None:
        return _says_no_lengths(TYPE_ITS_LINE, listed)
    piece = here.piece
    if setting.kind.key != piece.model.kind.key:
        return Verdict(
            Kind.OTHER_APPARATUS,
            Sentence("A card for another apparatus"),
            told(
                Sentence(
                    "This card is for %(kind)s; here stands %(apparatus)s. Set nothing by it.",
                    kind=setting.kind.in_a_sentence,
                    apparatus=piece.name,
                ),
                expected(listed),
            ),
        )
    ids = [place.athlete_id for place in listed.to_come]
    entered = {
        athlete_id: carried.transfer
        for athlete_id, carried in desk_settings.on_piece(session, ids, piece).items()
    }
    return _compared(transfer(setting, piece.model), entered, listed, here.phone.length_unit)


def _says_no_lengths(why: Sentence, listed: Listed) -> Verdict:
    return Verdict(
        Kind.ELSEWHERE,
        Sentence("Printed elsewhere: compare"),
        told(why, expected(listed), PRINTED_ELSEWHERE),
    )


def _compared(
    printed: Transfer, entered: Mapping[int, Transfer], listed: Listed, unit: Unit
) -> Verdict:
    """The lengths of a card, here, beside those of the first on the list."""
    first = listed.to_come[0] if listed.to_come else None
    own = entered.get(first.athlete_id) if first else None
    kind, heading, what_to_do = _whose(printed, own, entered, listed)
    best = printed.best
    fits = zip(best.axes, own.best.axes if own else [None] * len(best.axes), strict=True)
    return Verdict(
        kind,
        heading,
        told(expected(listed), *what_to_do, PRINTED_ELSEWHERE),
        compared=tuple(_beside(fit, other, unit) for fit, other in fits),
        whose=first.name if first and own else "",
        heeds=(*best.warnings_in(unit), *best.residuals_in(unit)),
    )


def _whose(
    printed: Transfer, own: Transfer | None, entered: Mapping[int, Transfer], listed: Listed
) -> tuple[Kind, Sentence, tuple[str, ...]]:
    """Whether these are the lengths of the first on the list, or else of somebody after."""
    to_compare = Sentence("Printed elsewhere: compare")
    if not listed.to_come:
        return Kind.ELSEWHERE, to_compare, ()
    first = listed.to_come[0]
    if own is not None and _wants_alike(printed, own):
        why = before_the_coach_has_said(listed, first.athlete_id, first.name)
        if why is not None:
            return Kind.ASK_FIRST, ASK_FIRST, (why,)
        same = Sentence(
            "%(name)s has these very lengths entered: set what this station shows.",
            name=first.name,
        )
        return Kind.ELSEWHERE, Sentence("Printed elsewhere: the same lengths"), (same,)
    alike = _another_who_wants(printed, entered, listed)
    if alike is not None:
        whose = Sentence(
            "%(name)s, who has turn %(turn)s, has these very lengths entered.",
            name=alike.name,
            turn=alike.turn,
        )
        why = before_the_coach_has_said(listed, alike.athlete_id, alike.name)
        if why is not None:
            return Kind.ASK_FIRST, ASK_FIRST, (whose, why)
        return Kind.ELSEWHERE, to_compare, (whose,)
    if own is None:
        lacking = Sentence(
            "%(name)s has nothing entered: call the coach, and show this card.", name=first.name
        )
        return Kind.OTHER_LENGTHS, to_compare, (lacking,)
    other = Sentence(
        "%(name)s has other lengths entered: set nothing before the coach has said which count.",
        name=first.name,
    )
    return Kind.OTHER_LENGTHS, Sentence("Printed elsewhere: other lengths"), (other,)


def _another_who_wants(
    printed: Transfer, entered: Mapping[int, Transfer], listed: Listed
) -> Place | None:
    """Who comes after the first, and has just these lengths."""
    first, *others = listed.to_come
    return next(
        (
            place
            for place in others
            if place.athlete_id != first.athlete_id
            and place.athlete_id in entered
            and _wants_alike(printed, entered[place.athlete_id])
        ),
        None,
    )


def _wants_alike(one: Transfer, other: Transfer) -> bool:
    """Whether both want the same on every axis, to the millimetre."""
    pairs = zip(one.best.axes, other.best.axes, strict=True)
    return all(a.wanted.wanted_mm == b.wanted.wanted_mm for a, b in pairs)


def _beside(printed: AxisFit, entered: AxisFit | None, unit: Unit) -> Compared:
    kind = printed.axis.kind
    wanted_mm = printed.wanted.wanted_mm
    told = Compared(
        axis=kind.name,
        datum=canonical_in_words(kind),
        printed=kind.length_in_words(wanted_mm, unit),
        mark=_mark_said(printed.axis, printed.stop),
    )
    if entered is None:
        return told
    return replace(
        told,
        entered=kind.length_in_words(entered.wanted.wanted_mm, unit),
        entered_mark=_mark_said(entered.axis, entered.stop),
        differs=entered.wanted.wanted_mm != wanted_mm,
    )


def _mark_said(axis: Axis, stop: int) -> str:
    """A mark as it stands in a line of words: "mark 5"; along the floor it is the length there."""
    words = axis.mark_in_words(stop)
    return words if isinstance(words, Sentence) else Sentence("mark %(mark)s", mark=words)
