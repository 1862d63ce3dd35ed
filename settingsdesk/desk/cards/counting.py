"""Whether a printed card still says what counts, and why not: one verdict for every page.

A card is out of date where what is set by it is other than what it says. What stands on it beside
the marks, such as a start number, is a reason for the cards of that meet alone: one for training
and one of another meet are left as they are.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from settingsdesk.desk.cards.text import CardText, Named, holds, in_words
from settingsdesk.desk.meets import entries as desk_entries
from settingsdesk.desk.meets.called import called_at_meet
from settingsdesk.desk.meets.entries import Entrant
from settingsdesk.desk.squad.names_apart import Called
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.figures import said_in
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.base.units import Unit
from settingsdesk.store import meets as kept_meets
from settingsdesk.store.cards import Card
from settingsdesk.store.work import ClubSession

NOTHING = Sentence("none")


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing in which an old card and what counts now differ.

    ``of_marks`` says that something else is set by it than by the card.
    """

    axis: str
    printed: str
    now: str
    of_marks: bool = True


@dataclass(slots=True)
class Entered:
    """The entries of some athletes for meets, and until when the cards of each meet count."""

    entrants: Sequence[Entrant]
    ends: Mapping[int, date]
    _called: dict[int, Mapping[int, Called]] = field(default_factory=dict)

    def of(self, athlete_id: int) -> list[Entrant]:
        """The entries of one of them, the latest first."""
        return [entrant for entrant in self.entrants if entrant.member.id == athlete_id]

    def entry_of_card(self, card: Card) -> Entrant | None:
        """For which entry a card was printed; None for one for training.

        Nothing but the day until which it counts tells it, and where that is another by now, since
        its meet was put off or the key of the codes changed, what stands on it of the entry.
        """
        own = self.of(card.athlete_id)
        if own and own[0].is_guest:
            return own[0]
        if card.counts_until is None:
            return None
        told = card.content["club"], card.content["start_number"]
        on_time = (one for one in own if self.ends[one.meet_id] == card.counts_until)
        alike = (one for one in own if told == (one.from_club, one.start_number) and told[0])
        return next(on_time, next(alike, None))

    def newest(self, cards: Iterable[Card], meet_id: int | None) -> dict[int, Card]:
        """The newest card of each for a meet, or for training, of cards that come newest first.

        All cards of a guest are for the one meet.
        """
        found: dict[int, Card] = {}
        for card in cards:
            entrant = self.entry_of_card(card)
            is_guest = entrant is not None and entrant.is_guest
            if is_guest or (entrant.meet_id if entrant else None) == meet_id:
                found.setdefault(card.athlete_id, card)
        return found

    def named(self, session: ClubSession, entrant: Entrant, raise_request: str) -> Named:
        """How a card of that entry calls its athlete now."""
        if entrant.meet_id not in self._called:
            at_meet = desk_entries.entrants(session, entrant.meet_id)
            self._called[entrant.meet_id] = called_at_meet(
                one for one in at_meet if one.is_in or one.entry_id == entrant.entry_id
            )
        called = self._called[entrant.meet_id][entrant.member.id]
        return Named(entrant.from_club, entrant.start_number, raise_request, called.name)


def entered(
    session: ClubSession, athlete_ids: Iterable[int], known: Mapping[int, date] | None = None
) -> Entered:
    """What the verdict on cards of those athletes rests on.

    ``known`` is until when the cards of some meets count, where that is loaded already.
    """
    found = desk_entries.entered_of(session, athlete_ids)
    ends = dict(known or {})
    others = {entrant.meet_id for entrant in found} - ends.keys()
    if others:
        ends |= kept_meets.ends_of_cards(session, others)
    return Entered(found, ends)


def of_marks(printed: CardText, now: CardText) -> Iterable[Difference]:
    """In what is to be set the two differ."""
    for old, new in zip(printed.lines, now.lines, strict=True):
        if not holds(old, new):
            yield Difference(new.axis, in_words(old), in_words(new))
    if printed.raise_request not in {said_in(now.raise_request, unit) for unit in Unit}:
        yield Difference(
            Sentence("Request to raise the rails"),
            printed.raise_request or NOTHING,
            now.raise_request or NOTHING,
        )


def of_a_meet(
    printed: CardText, now: CardText, counts_until: date, ends: date
) -> Iterable[Difference]:
    """In what else the card of a meet and one that is printed now differ."""
    told = (
        (Sentence("Name"), printed.name, now.name),
        (Sentence("Start number"), printed.start_number, now.start_number),
        (Sentence("Apparatus"), printed.apparatus, now.apparatus),
        (Sentence("Counts until"), day_in_words(counts_until), day_in_words(ends)),
    )
    for what, old, new in told:
        if old != new:
            yield Difference(what, old or NOTHING, new or NOTHING, of_marks=False)


def to_do(
    why: Sequence[Difference],
    *,
    taken_in: bool,
    scratched: bool,
    replaced_by: int | None,
    waits_for_answer: bool,
    is_halted: bool,
    open_raise: bool,
    is_off: bool,
) -> Sentence:
    """What whoever holds a card has to do about it, in one line.

    ``replaced_by`` is the version of a newer card that counts, ``waits_for_answer`` says that
    somebody said by a card that something is wrong, ``is_halted`` that nothing may be set at the
    apparatus now, whoever's card it is, and ``open_raise`` that its marks are without a raise of
    the rails that was granted, or may be; ``is_off`` that a mark is outside what is accepted.
    """
    if scratched:
        return Sentence("Nothing to do: the entry was taken back. If that is wrong, ask the coach.")
    if replaced_by is not None:
        return Sentence(
            "Use the newer card, version %(newest)s, and set nothing by this one. If you do not"
            " have it, ask the coach.",
            newest=replaced_by,
        )
    if any(one.of_marks for one in why):
        return Sentence("Ask the coach for a new card, and set nothing by this one.")
    if open_raise:
        return Sentence("Ask the coach.")
    if why or taken_in:
        return Sentence("Ask the coach for a new card; its marks will be the same.")
    if waits_for_answer:
        return Sentence("Nothing to do before the coach has answered: look here again.")
    if is_off:
        return Sentence(
            "Ask the coach before anybody goes up: these marks are further off than is accepted."
        )
    if is_halted:
        return Sentence("Nothing to do: it counts, once the apparatus may be used again.")
    return Sentence("Nothing to do: it counts.")


def verdict(
    printed: CardText, now: CardText, counts_until: date | None, ends: date | None
) -> tuple[Difference, ...]:
    """Why a card is out of date; empty where it still says what counts.

    ``ends`` is until when the cards of its meet count now, None where it is of none.
    """
    found = tuple(of_marks(printed, now))
    if counts_until is None or ends is None:
        return found
    return (*found, *of_a_meet(printed, now, counts_until, ends))
