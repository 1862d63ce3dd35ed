"""What a setting card says, already in the words and units in which it will be read."""

from dataclasses import dataclass, field
from datetime import date

from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.figures import Length
from settingsdesk.domain.base.sentences import Sentence


@dataclass(frozen=True, slots=True)
class CardLine:
    """One axis on a card, as text: the mark to set and the length it stands for.

    ``length`` is what a tape finds at that mark. ``note`` is empty, or says what to know, such as
    "0.4 cm over what is wanted". ``wanted`` is the length that the athlete wants; it is no more
    than the note says, and cards of earlier versions have it there alone: it makes none another.
    """

    axis: str
    mark: str
    length: str
    datum: str
    accepts: str
    note: str = ""
    wanted: str = field(default="", compare=False)

    @property
    def taped(self) -> Sentence:
        """What a tape must find, in one phrase: "tape 169.7 cm (wanted 170.0 cm ± 1.5 cm)"."""
        facts = {"length": self.length, "wanted": self.wanted, "accepts": self.accepts}
        if not self.wanted:
            return Sentence("tape %(length)s (%(accepts)s)", **facts)
        if self.accepts.startswith("±"):
            return Sentence("tape %(length)s (wanted %(wanted)s %(accepts)s)", **facts)
        return Sentence("tape %(length)s (wanted %(wanted)s, %(accepts)s)", **facts)

    @property
    def accepted(self) -> Sentence:
        """The same of what is wanted alone, in few words: "wanted 170.0 ± 1.5 cm"."""
        if not self.wanted:
            return Sentence("accepts %(accepts)s", accepts=self.accepts)
        if not self.accepts.startswith("±"):
            return Sentence(
                "wanted %(wanted)s, %(accepts)s", wanted=self.wanted, accepts=self.accepts
            )
        wanted = self.wanted
        if isinstance(wanted, Length):
            wanted = wanted.alone
        elif isinstance(wanted, Sentence):
            wanted = wanted.facts["figure"]
        return Sentence("wanted %(figure)s %(accepts)s", figure=wanted, accepts=self.accepts)

    @property
    def measured(self) -> Sentence:
        """Length and what is wanted: "169.7 cm, wanted 170.0 ± 1.5 cm"."""
        return Sentence("%(length)s, %(wanted)s", length=self.length, wanted=self.accepted)

    @property
    def heed(self) -> str:
        """What of the note the phrase does not say already."""
        return "" if self.wanted and self.note == f"{self.wanted} is wanted" else self.note


@dataclass(frozen=True, slots=True)
class Card:
    """One athlete's setting on one apparatus, ready to print.

    ``name`` is as the club chooses to print it; ``club`` and ``start_number`` may be empty.
    ``scale_used`` says whose scale the marks are of: the model's, or this apparatus's own
    calibration and its date. ``short_code`` is typeable and ends in its check character.
    ``raise_request`` says who asked to have the rails raised and what came of it; ``counts_until``
    is the last day of a meet's card. ``seen_from`` is the end from which the apparatus is drawn,
    as the hall calls it, empty where both look the same. ``unmeasured`` says what of it was worked
    out or guessed, and is empty where all of it was measured; ``not_tried`` that the setting is
    another athlete's, and this one has not tried it. ``above_mat`` are its heights above
    the mat on days with other mats than on record, a sentence for each day. ``crew_note`` is what
    whoever sets it should know besides, and may be empty. ``line`` says the
    wanted lengths to any other hall's desk, see ``lengths_line``; it is empty where they have none.
    """

    name: str
    club: str
    start_number: str
    apparatus: str
    model: str
    scale_used: str
    lines: tuple[CardLine, ...]
    drawing: Drawing
    version: int
    issued_on: date
    url: str
    short_code: str
    raise_request: str = ""
    counts_until: date | None = None
    seen_from: str = ""
    unmeasured: str = ""
    not_tried: str = ""
    above_mat: tuple[str, ...] = ()
    crew_note: str = ""
    line: str = ""

    @property
    def heeds(self) -> tuple[str, ...]:
        """What must not be overlooked above the settings.

        A request, what nobody has tried or measured, and heights above other mats than on record.
        """
        return (
            *filter(None, (self.raise_request, self.not_tried, self.unmeasured)),
            *self.above_mat,
        )


@dataclass(frozen=True, slots=True)
class CardGroup:
    """Cards that are handed out together, in that order.

    ``heading`` is empty, or says what they have in common, such as "Session 1, rotation 2".
    """

    cards: tuple[Card, ...]
    heading: str = ""
