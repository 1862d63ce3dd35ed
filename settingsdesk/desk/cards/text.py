"""What a card says: printed, kept, compared with what counts now, shown when it is scanned."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from typing import Any

from settingsdesk.desk.hall.apparatus import (
    AS_FIRST_SAID,
    AS_SAID_THEN,
    NOT_MEASURED_HERE,
    PARTLY_TAPED,
    PARTLY_TAPED_FROM,
    TAPED,
    TAPED_FROM,
)
from settingsdesk.desk.meets.raise_requests import RAISE_FORMS, as_told_now
from settingsdesk.desk.squad.athletes import Member
from settingsdesk.desk.squad.settings import NOT_TRIED, UNMEASURED_FORMS, Carried
from settingsdesk.desk.squad.typed_marks import mark_told
from settingsdesk.domain.base.datums import Section, canonical_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.figures import Length, length_in_words, most_in_words, said_in
from settingsdesk.domain.base.kinds import AN_END, KINDS, kind_of
from settingsdesk.domain.base.sentences import Sentence, Series, marked, recognised
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.mats import FORMS as MATS_FORMS
from settingsdesk.domain.hall.mats import as_told_now as mats_told_now
from settingsdesk.domain.settings.card import CardLine
from settingsdesk.domain.settings.end_view import DimensionText, end_view
from settingsdesk.domain.settings.lengths_line import line_of
from settingsdesk.domain.settings.transfer import WITHOUT_DROP, AxisFit

NEAREST, EITHER_WAY = marked("nearest mark"), marked("± %(length)s")
"""What is accepted; where the setting does not say it, the stops cannot come closer."""

_AS_IT_WAS_SAID = {"no deviation": NEAREST}
"""Cards of before say the same in other words, and count as ever."""

UNCERTAIN = marked("Uncertain, %(why)s: %(wanted)s is wanted")
DOES_NOT_REACH = marked("Does not reach: %(wanted)s is wanted")
OUTSIDE = marked("Outside what is accepted: %(wanted)s is wanted")
WANTED = marked("%(wanted)s is wanted")

MOST_DAYS_TOLD = 2
"""A meet's card has room for so many days with other mats."""
ON_SEVERAL_DAYS = marked(
    "On several days of the meet other mats lie there: ask for the heights above the mat"
)

FORMS = tuple(
    dict.fromkeys(
        [
            *(axis.name.form for kind in KINDS.values() for axis in kind.axes),
            *(
                part.form
                for kind in KINDS.values()
                for axis in kind.axes
                for datum in [canonical_in_words(axis)]
                for part in (datum, *datum.facts.values())
            ),
            *(end.form for kind in KINDS.values() for end in kind.ends_called or ()),
            NEAREST,
            EITHER_WAY,
            UNCERTAIN,
            WITHOUT_DROP.form,
            DOES_NOT_REACH,
            OUTSIDE,
            WANTED,
            NOT_MEASURED_HERE,
            TAPED_FROM,
            PARTLY_TAPED_FROM,
            TAPED,
            PARTLY_TAPED,
            *AS_SAID_THEN,
            *reversed(AS_FIRST_SAID.values()),
            AN_END,
            *RAISE_FORMS,
            *UNMEASURED_FORMS,
            *MATS_FORMS,
            ON_SEVERAL_DAYS,
            NOT_TRIED,
        ]
    )
)
"""Of what cards say. They are kept as their English text, and said in a language when read."""


@dataclass(frozen=True, slots=True)
class CardText:
    """Everything a card says of one athlete on one apparatus, and what its drawing is made from."""

    name: str
    club: str
    start_number: str
    apparatus: str
    model: str
    kind: str
    scale_used: str
    lines: tuple[CardLine, ...]
    measures_mm: Mapping[str, float]
    section_mm: tuple[float, float] | None
    mat_mm: int
    foot_distance_mm: float | None
    raise_request: str = ""
    above_mat: tuple[str, ...] = ()
    """Its heights above the mat on days with other mats than on record; on most days none."""
    seen_from: str = field(default="", compare=False)
    """Where one stands who sees it as it is drawn; cards of before do not say it, and say no less
    of the setting."""
    crew_note: str = ""
    """What whoever sets it should know besides, in the coach's words."""
    unmeasured: str = field(default="", compare=False)
    """What of it was worked out or guessed; cards of before do not say it either."""
    line: str = field(default="", compare=False)
    """The wanted lengths for another hall's desk; cards of before have none, and count as ever."""
    not_tried: str = field(default="", compare=False)
    """That the setting is another athlete's so far: once this one has tried it, the marks of a card
    that says so are the same."""

    @property
    def is_off(self) -> bool:
        """Whether a mark of it is outside what is accepted, or the wish is not reached at all."""
        return any(
            isinstance(line.note, Sentence)
            and line.note.form in (UNCERTAIN, DOES_NOT_REACH, OUTSIDE)
            for line in self.lines
        )

    @property
    def drawing(self) -> Drawing:
        """The end view at the marks of the card."""
        kind = kind_of(self.kind)
        texts = {
            axis.key: DimensionText(line.mark, line.length)
            for axis, line in zip(kind.axes, self.lines, strict=True)
        }
        section = Section(*self.section_mm) if self.section_mm else None
        return end_view(
            kind,
            section,
            self.measures_mm,
            texts,
            self.mat_mm,
            self.foot_distance_mm,
            rails_enlarged=True,
        )

    def to_data(self) -> dict[str, Any]:
        """The card as JSON-ready data."""
        return asdict(self)

    @staticmethod
    def from_data(data: Mapping[str, Any]) -> "CardText":
        """The card that such data describe."""
        section = data["section_mm"]
        return CardText(
            **{
                **data,
                "lines": tuple(_line_from_data(line) for line in data["lines"]),
                "section_mm": tuple(section) if section else None,
                "above_mat": tuple(
                    mats_told_now(recognised(told, FORMS)) for told in data.get("above_mat", ())
                ),
                **{
                    name: as_told_now(recognised(data[name], FORMS))
                    for name in (
                        *("scale_used", "raise_request", "seen_from"),
                        *("unmeasured", "not_tried"),
                    )
                    if name in data
                },
            }
        )


@dataclass(frozen=True, slots=True)
class Named:
    """How a card calls its athlete: of which club, under which number; both may be empty.

    ``raise_request`` is what it says of a request to raise the rails. ``name`` is another than the
    printed one where that is a namesake's too.
    """

    club: str = ""
    start_number: str = ""
    raise_request: str = ""
    name: str = ""


def text_of(
    member: Member,
    carried: Carried,
    named: Named,
    unit: str,
    days: Sequence[date] | None = None,
) -> CardText:
    """What a card says now of that athlete on that apparatus, in the club's unit.

    ``days`` are those that a card on paper is for, with whose mats it says its heights; None for
    what is looked at today.
    """
    best = carried.transfer.best
    piece = carried.piece.as_on(days[0]) if days else carried.piece
    section, geometry = piece.model.section, piece.model.geometry
    return CardText(
        name=named.name or member.printed_name,
        club=named.club,
        start_number=named.start_number,
        apparatus=piece.name,
        model=piece.model.name,
        kind=piece.model.kind.key,
        scale_used=piece.scale_used,
        lines=tuple(_line(fit, Unit(unit)) for fit in best.axes),
        measures_mm={fit.axis.key: round(fit.measure_mm, 1) for fit in best.axes},
        section_mm=(section.height_mm, section.width_mm) if section else None,
        mat_mm=piece.mat_mm,
        foot_distance_mm=geometry.foot_distance_mm if isinstance(geometry, Leaning) else None,
        raise_request=named.raise_request,
        above_mat=tuple(_above_mat(carried, Unit(unit), days)),
        seen_from=piece.seen_from,
        unmeasured=carried.unmeasured,
        crew_note=carried.crew_note,
        line="" if _guesses_spread(carried) else line_of(carried.version.setting),
        not_tried=carried.not_tried,
    )


def _above_mat(carried: Carried, unit: Unit, days: Sequence[date] | None) -> Iterator[str]:
    """What a tape held on the mat finds, on each day on which others lie there than on record."""
    kind, lie = carried.piece.model.kind, carried.piece.mats
    measures_mm = {fit.axis.key: fit.measure_mm for fit in carried.transfer.best.axes}
    that_day = [lie.on(day) for day in days] if days else [lie]
    otherwise = [mats for mats in that_day if mats.more_mm]
    if len(otherwise) > MOST_DAYS_TOLD:
        yield Sentence(ON_SEVERAL_DAYS)
        return
    for mats in otherwise:
        if told := mats.heights_in_words(kind, measures_mm, unit, None if days else lie.day):
            yield told


def _guesses_spread(carried: Carried) -> bool:
    """Whether the wanted spread was worked out from a mark by a drop that nobody measured.

    Such a length is no more than its mark, here; in another hall it would pass for a tape's.
    """
    model, spread = carried.piece.model, carried.piece.model.kind.spread_axis
    if spread is None or carried.of_another_model or not model.guesses_drop:
        return False
    return mark_told(carried.version.as_read.get(spread.key, "")) is not None


def in_words(line: CardLine) -> str:
    """A card's line as one phrase: "mark 5, 245.4 cm, ± 1.0 cm. 245.0 cm is wanted"."""
    told = Sentence(
        "mark %(mark)s, %(length)s, %(accepts)s",
        mark=line.mark,
        length=line.length,
        accepts=line.accepts,
    )
    return Series((told, line.note), ". ") if line.note else told


def _line_from_data(data: Mapping[str, str]) -> CardLine:
    said = {**data, "accepts": _AS_IT_WAS_SAID.get(data["accepts"], data["accepts"])}
    return CardLine(**{name: recognised(text, FORMS) for name, text in said.items()})


def _line(fit: AxisFit, unit: Unit) -> CardLine:
    accepts_mm = fit.wanted.accepts_mm
    return CardLine(
        axis=fit.axis.kind.name,
        mark=fit.mark,
        length=length_in_words(fit.measure_mm, unit),
        datum=canonical_in_words(fit.axis.kind),
        accepts=_accepts(accepts_mm, unit),
        note=note_of(fit, unit),
        wanted=length_in_words(fit.wanted.wanted_mm, unit),
    )


def _accepts(accepts_mm: int, unit: Unit) -> Sentence:
    if not accepts_mm:
        return Sentence(NEAREST)
    return Sentence(EITHER_WAY, length=most_in_words(accepts_mm, unit))


def holds(printed: CardLine, now: CardLine) -> bool:
    """Whether a line of a card on record still says what is to be set and accepted.

    In whichever unit: a card says its own, and the club may read lengths in the other one by now.
    """
    return any(
        says_the_same(
            printed,
            replace(
                now,
                length=said_in(now.length, unit),
                accepts=said_in(now.accepts, unit),
                note=said_in(now.note, unit),
            ),
        )
        for unit in Unit
    )


def says_the_same(printed: CardLine, now: CardLine) -> bool:
    """The same for a card that is made now, in the unit that the club reads.

    What is accepted was rounded to the nearest eighth of an inch at first, and now is to no more
    than it is: a card that says it in the way of before is not out of date.
    """
    return printed.accepts in (now.accepts, _accepts_as_first_said(now)) and (
        (printed.mark, printed.length, printed.note) == (now.mark, now.length, now.note)
    )


def _accepts_as_first_said(now: CardLine) -> str:
    length = now.accepts.facts.get("length") if isinstance(now.accepts, Sentence) else None
    return (
        Sentence(EITHER_WAY, length=length.nearest) if isinstance(length, Length) else now.accepts
    )


def note_of(fit: AxisFit, unit: Unit) -> str:
    """What is said of a mark that is off what is wanted; "" where it is not."""
    wanted = length_in_words(fit.wanted.wanted_mm, unit)
    if fit.lacks_drop:
        return Sentence(UNCERTAIN, why=WITHOUT_DROP, wanted=wanted)
    if fit.out_of_range:
        return Sentence(DOES_NOT_REACH, wanted=wanted)
    if fit.alarming:
        return Sentence(OUTSIDE, wanted=wanted)
    if round(fit.residual_mm) != 0:
        return Sentence(WANTED, wanted=wanted)
    return ""
