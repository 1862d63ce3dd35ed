"""A card held out at a station: whose it is, whether it counts, and whether it is their turn."""

from settingsdesk.desk.cards import in_hand, remarks
from settingsdesk.desk.cards.code_address import CodeKey, is_scanned
from settingsdesk.desk.cards.counting import Difference
from settingsdesk.desk.cards.in_hand import HeldOut, Holder, NeverIssued, NoSuchCard
from settingsdesk.desk.cards.read_off import ReadOff, read_off
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.runs import run_list
from settingsdesk.desk.stations.at_station import AtStation
from settingsdesk.desk.stations.confirming import Standing
from settingsdesk.desk.stations.listed import (
    Listed,
    Place,
    before_the_coach_has_said,
    expected,
    listed_at,
    message_waits,
)
from settingsdesk.desk.stations.printed_elsewhere import printed_elsewhere
from settingsdesk.desk.stations.verdict import ASK_FIRST, Kind, Verdict, told
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.work import ClubSession, Store


def read(typed: str) -> ReadOff:
    """What a reader or a person typed of a card; raises as ``read_off``, or ``StationsCode``."""
    found = read_off(typed)
    if found.is_a_stations:
        raise StationsCode
    return found


def find(store: Store, code_key: CodeKey, shown: ReadOff) -> Holder | None:
    """The card that was ``read``; None where another desk printed it, as far as it tells.

    ``NoSuchCard`` or ``CardHasEnded`` where it is none that counts.
    """
    if not shown.code:
        return None
    try:
        if is_scanned(shown.code):
            return in_hand.holder_of(store, shown.code)
        return in_hand.holder_of_typed(store, code_key, shown.code)
    except NeverIssued:
        if shown.is_of_another(code_key):
            return None
        raise


def look(
    session: ClubSession,
    here: AtStation,
    standing: Standing,
    shown: ReadOff,
    found: Holder | None,
) -> Verdict:
    """The verdict on a card that was held out at a station, and ``found`` by what it shows."""
    is_another_clubs = found is not None and found.club_id != here.phone.club_id
    card = _entered_here(session, here, found) if found and not is_another_clubs else None
    if found and card is None and not (is_another_clubs and shown.line):
        return OTHER_MEET
    if here.piece.withdrawal is not None:
        return _out_of_use(here.piece)
    if here.piece.id in run_list.stopped_apparatus(session):
        return _stopped(here.piece)
    if card is None:
        return printed_elsewhere(session, here, standing, shown)
    return _of_an_entrant(session, here, standing, card)


def _entered_here(session: ClubSession, here: AtStation, found: Holder) -> HeldOut | None:
    """The card, where its athlete is entered for this meet."""
    card = in_hand.held_out(session, found.card_id)
    return card if kept_meets.is_entered(session, here.phone.session_id, card.member.id) else None


def _of_an_entrant(
    session: ClubSession, here: AtStation, standing: Standing, card: HeldOut
) -> Verdict:
    listed = listed_at(session, standing, here.phone.length_unit)
    if not kept_meets.is_coming(session, here.phone.session_id, card.member.id):
        return _scratched(card, listed)
    if card.apparatus_id != here.piece.id:
        return Verdict(
            Kind.OTHER_APPARATUS,
            Sentence("A card for another apparatus"),
            told(
                Sentence(
                    "This card of %(name)s is for %(other)s; here stands %(apparatus)s. Set nothing"
                    " by it.",
                    name=listed.name_of(card),
                    other=card.printed_for,
                    apparatus=here.piece.name,
                ),
                expected(listed),
            ),
        )
    try:
        differences = in_hand.differences(session, card, here.piece)
    except NoSuchCard as refusal:
        return no_such_card(refusal)
    if differences or card.taken_in:
        return _superseded(card, differences, listed)
    if remarks.ask_first(session, [card.member.id], here.piece.model.kind.key):
        return _ask_first(card, listed)
    return _on_the_list(card, listed)


def no_such_card(refusal: NoSuchCard) -> Verdict:
    """The verdict on a code that opens no card, or a card that says nothing any more."""
    if isinstance(refusal, NeverIssued):
        return NO_CARD_OF_THIS_DESK
    why = Sentence("%(refusal)s.", refusal=str(refusal))
    return Verdict(Kind.UNKNOWN, Sentence("This card does not count"), why)


def _superseded(card: HeldOut, differences: tuple[Difference, ...], listed: Listed) -> Verdict:
    name = listed.name_of(card)
    why = (
        Sentence(
            "This card was printed under another entry of %(name)s, which is not used any more.",
            name=name,
        )
        if card.taken_in
        else Sentence("%(name)s's setting was changed after this card was printed.", name=name)
        if any(one.of_marks for one in differences)
        else Sentence("The marks on this card of %(name)s are right, and it says more.", name=name)
    )
    what_counts = before_the_coach_has_said(listed, card.member.id, name) or Sentence(
        "Set nothing by the paper. Set what this station shows; where it says that marks"
        " were changed, take those first."
    )
    return Verdict(
        Kind.SUPERSEDED,
        Sentence("This card is out of date"),
        told(
            why,
            what_counts,
            expected(listed),
        ),
        differences,
    )


def _ask_first(card: HeldOut, listed: Listed) -> Verdict:
    waits = message_waits(listed.name_of(card))
    return Verdict(Kind.ASK_FIRST, ASK_FIRST, told(waits, expected(listed)))


def _scratched(card: HeldOut, listed: Listed) -> Verdict:
    """The coach has taken the entry back; who is not here and was not scratched may come yet."""
    name = listed.name_of(card)
    return Verdict(
        Kind.SCRATCHED,
        Sentence("Scratched: does not come"),
        told(
            Sentence(
                "%(name)s's entry was taken back: set nothing by this card. If %(name)s is here all"
                " the same, ask the coach.",
                name=name,
            ),
            expected(listed),
        ),
    )


def _out_of_use(piece: Piece) -> Verdict:
    return Verdict(
        Kind.OUT_OF_USE,
        Sentence("%(apparatus)s is out of use", apparatus=piece.name),
        told(
            Sentence(
                "Nobody goes up and nothing is set, whoever's card this is, until a coach releases"
                " it."
            ),
        ),
    )


def _stopped(piece: Piece) -> Verdict:
    return Verdict(
        Kind.STOPPED,
        Sentence("The work here is stopped"),
        told(
            Sentence(
                "Somebody said that something is wrong with %(apparatus)s. Nobody goes up and"
                " nothing is set, whoever's card this is, until a coach has looked.",
                apparatus=piece.name,
            ),
        ),
    )


def _on_the_list(card: HeldOut, listed: Listed) -> Verdict:
    place, name = listed.turn_of(card.member.id), listed.name_of(card)
    is_first = place is not None and place == listed.to_come[0]
    why = before_the_coach_has_said(listed, card.member.id, name)
    if place is not None and why is not None:
        whose = () if is_first else (_when(name, place, listed),)
        return Verdict(Kind.ASK_FIRST, ASK_FIRST, told(expected(listed), *whose, why))
    if is_first:
        counts = Sentence("This card counts.")
        before = (listed.before,) if listed.before else ()
        return Verdict(
            Kind.RIGHT,
            Sentence("The right card"),
            told(expected(listed), counts, *listed.heeds, *before),
            marks=listed.marks,
        )
    if place is not None:
        return _another(listed, _when(name, place, listed))
    if card.member.id in listed.away:
        return _another(
            listed,
            Sentence(
                "This card is %(name)s's, who was said not to be here. Press “%(name)s is here"
                " after all”: the turn then comes after all others.",
                name=name,
            ),
        )
    if card.member.id in listed.over:
        return Verdict(
            Kind.OVER,
            Sentence("The turn is over already"),
            told(
                Sentence("%(name)s has had the turn in this rotation.", name=name),
                expected(listed),
            ),
        )
    return Verdict(
        Kind.NOT_LISTED,
        Sentence("Not on this list"),
        told(
            Sentence("%(name)s is not on the list of this rotation.", name=name),
            expected(listed),
            Sentence("Ask the coach."),
        ),
    )


def _another(listed: Listed, whose: Sentence) -> Verdict:
    return Verdict(Kind.ANOTHER, Sentence("Another athlete"), told(expected(listed), whose))


def _when(name: str, place: Place, listed: Listed) -> Sentence:
    if place == listed.to_come[1]:
        return Sentence("This card is %(name)s's, who comes next.", name=name)
    return Sentence("This card is %(name)s's, who has turn %(turn)s.", name=name, turn=place.turn)


OTHER_MEET = Verdict(
    Kind.OTHER_MEET,
    Sentence("A card of another meet or club"),
    Sentence(
        "Nobody who is entered for this meet has this card. Set nothing by it, and ask the coach."
    ),
)
"""Says nothing of whose it is: another club's cards are its own affair."""


NO_CARD_OF_THIS_DESK = Verdict(
    Kind.UNKNOWN,
    Sentence("No card of this desk"),
    Sentence(
        "No card that counts here has this code. If another club printed it, type the long line of"
        " digits that is printed on it. If this desk printed it, compare the code; if it is right,"
        " set nothing by this one, and ask the coach."
    ),
)


class StationsCode(SettingsDeskError):
    """A station's own code was read where a card's was asked for."""

    sentence = Sentence(
        "This is the code of a station, which lets a phone in. Scan or type a card's code"
    )
