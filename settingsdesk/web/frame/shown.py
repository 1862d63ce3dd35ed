"""Lengths, moments and apparatus as the pages of the rooms show them."""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import partial
from itertools import groupby
from typing import Any, Protocol, TypeVar

from markupsafe import Markup, escape

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.base.datums import (
    HeightDatum,
    canonical_in_words,
    height_in_words,
    spread_in_words,
)
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.drawing import Drawing
from settingsdesk.domain.base.figures import (
    difference_in_words,
    fine_length,
    format_length,
    length_in_words,
    most_in_words,
)
from settingsdesk.domain.base.kinds import KINDS, AxisKind, Kind, Quantity
from settingsdesk.domain.base.sentences import Sentence, Series
from settingsdesk.domain.hall.geometry import Leaning
from settingsdesk.domain.hall.mats import Mats
from settingsdesk.domain.hall.models import ApparatusModel, Axis, Setup
from settingsdesk.domain.settings.end_view import DimensionText, end_view, small_view
from settingsdesk.web.frame.language import said
from settingsdesk.web.frame.work import coach

day = day_in_words


class OfAModel(Protocol):
    """What is of one apparatus model: a piece of apparatus, a version of a model."""

    @property
    def model(self) -> ApparatusModel: ...


AnyOfAModel = TypeVar("AnyOfAModel", bound=OfAModel)


def by_kind(known: Iterable[AnyOfAModel]) -> list[tuple[str, list[AnyOfAModel]]]:
    """Those of each apparatus kind under its name, in the order of the trade's list."""
    order = list(KINDS)
    ranked = sorted(known, key=lambda version: order.index(version.model.kind.key))
    return [
        (KINDS[key].name, list(group))
        for key, group in groupby(ranked, key=lambda version: version.model.kind.key)
    ]


def length(mm: float) -> str:
    """A length in the club's unit: "170.0 cm"."""
    return length_in_words(mm, coach().length_unit)


def at_most(mm: int) -> str:
    """A length that must not be exceeded, in the club's unit: in inches never more than it is."""
    return most_in_words(mm, coach().length_unit)


def length_of(axis: AxisKind, mm: float) -> str:
    """A length of an axis in the club's unit; along the floor as it is said there: "20 m"."""
    return axis.length_in_words(mm, coach().length_unit)


def figure_of(mm: float) -> str:
    """The same without its unit, for a column whose head says it: "170.0"."""
    return format_length(mm, coach().length_unit)


def off(axis: AxisKind, residual_mm: float) -> str:
    """How far a length is off the wanted one, in the club's unit: "0.3 cm too high", or "exact"."""
    whole_mm = abs(round(residual_mm))
    if whole_mm == 0:
        return "exact"
    way = axis.quantity.too_much if residual_mm > 0 else axis.quantity.too_little
    return f"{difference_in_words(whole_mm, coach().length_unit)} {way}"


def measured(*kinds: Kind) -> str:
    """Between which points a tape measures each adjustment, those that are alike together."""
    told: dict[str, list[str]] = {}
    for axis in dict.fromkeys(axis for kind in kinds for axis in kind.axes):
        names = told.setdefault(canonical_in_words(axis), [])
        if axis.in_a_sentence not in names:
            names.append(axis.in_a_sentence)
    return "; ".join(f"{Series(names, 'and')}: {datum}" for datum, names in told.items())


def finely(mm: float) -> str:
    """A length of a few millimetres, in the club's unit: "3.4 mm", or "0.13 in (3.4 mm)"."""
    return fine_length(mm, coach().length_unit)


def signed(mm: float) -> str:
    """A difference in millimetres with its sign: "+1.2", "−3.4"."""
    return f"{mm:+.1f}".replace("-", "−")


def unbroken(words: str) -> Markup:
    """Words of a heading where no line ends between a given name and its initial: "Jagna B."."""
    escaped = str(escape(words))
    kept_together = _GIVEN_AND_INITIAL.sub(r'<bdi class="unbroken">\g<0></bdi>', escaped)
    return Markup(kept_together)  # noqa: S704  # they were escaped just now


_GIVEN_AND_INITIAL = re.compile(r"[\w’-]+ \w\.(?!\w)")


def loud(words: str) -> str:
    """Words of the reader's language with the rails as they are called out: "LOW-rail side".

    A language without capitals says them as ever: their words differ enough there.
    """
    for rail in _RAILS:
        called_out = said(rail)
        there = re.escape(called_out).replace(r"\ ", "[ -]")
        louder = partial(_as_loud, called_out)
        words = re.sub(rf"\b{there}\b", louder, words, flags=re.IGNORECASE)
    return words


def _as_loud(called_out: str, found: re.Match[str]) -> str:
    """What was found, in capitals where those of the catalogue are."""
    signs = zip(called_out, found[0], strict=True)
    return "".join(sign.upper() if loud.isupper() else sign for loud, sign in signs)


_RAILS = (Sentence("LOW rail"), Sentence("HIGH rail"))
"""As they stand behind "height of the" and "side of the", in capitals what tells them apart."""


def moment(at: datetime) -> str:
    """A moment on this machine's clock: "24 November 2026, 14:05"."""
    local = at.astimezone()
    return f"{day(local)}, {local:%H:%M}"


def datum(model: ApparatusModel, axis: Axis) -> str:
    """Between which points the printed scale of an axis reads."""
    if isinstance(model.geometry, Leaning) and axis.kind.quantity is Quantity.HEIGHT:
        return "centre of the rail, along the upright from its pivot"
    if isinstance(model.geometry, Leaning) and axis.kind.quantity is Quantity.SPREAD:
        return "the spreader's own width"
    if axis.kind.quantity is Quantity.HEIGHT:
        return height_in_words(HeightDatum(edge=axis.edge), axis.kind.point)
    if axis.kind.quantity is Quantity.SPREAD:
        return spread_in_words(axis.spread_datum)
    return f"between {axis.kind.point}"


def picture(
    model: ApparatusModel,
    measures_mm: Mapping[str, float],
    marks: Mapping[str, str] | None = None,
    mat_mm: float = 0.0,
    seen_from: str = "",
) -> Drawing:
    """The end view of a model at those canonical lengths, with its marks where they are known.

    ``seen_from`` is the end at which one stands.
    """
    geometry = model.geometry
    return end_view(
        model.kind,
        model.section,
        measures_mm,
        {
            axis.key: DimensionText(
                (marks or {}).get(axis.key, ""),
                _dimension(model, axis, measures_mm[axis.key], marks is not None),
            )
            for axis in model.axes
        },
        mat_mm,
        geometry.foot_distance_mm if isinstance(geometry, Leaning) else None,
        seen_from=seen_from,
        rails_enlarged=True,
    )


def small_picture(model: ApparatusModel, setup: Setup) -> Drawing:
    """A setup in small, with its marks, for beside words that say its lengths."""
    geometry = model.geometry
    foot_mm = geometry.foot_distance_mm if isinstance(geometry, Leaning) else None
    measures_mm = model.measures_mm(setup)
    return small_view(model.kind, model.section, measures_mm, model.marks(setup), foot_mm)


def _dimension(model: ApparatusModel, axis: Axis, mm: float, at_marks: bool) -> str:
    """A length in the picture; where nobody can tell it of a mark of the spread, that it is so."""
    untold = at_marks and model.lacks_drop and axis.kind == model.kind.spread_axis
    return "not known" if untold else length_of(axis.kind, mm)


def mats_in_words(mats: Mats) -> str:
    """What is otherwise of the mats: "with 10.0 cm more mat than usual today"; often empty."""
    return mats.in_words(coach().length_unit, today())


def mats_of_all(mats: Mats) -> str:
    """The same with what follows for every height."""
    return mats.of_all_in_words(coach().length_unit, today())


def heights_above_mat(piece: Piece, measures_mm: Mapping[str, float]) -> str:
    """Heights above the floor as they are above the other mats of a day; empty on most days."""
    kind = piece.model.kind
    return piece.mats.heights_in_words(kind, measures_mm, coach().length_unit, today())


def for_templates() -> dict[str, Any]:
    """What the templates of these rooms may call."""
    return {
        "length": length,
        "at_most": at_most,
        "length_of": length_of,
        "figure_of": figure_of,
        "reading_in": lambda: coach().length_unit,
        "off": off,
        "measured": measured,
        "day": day,
        "moment": moment,
        "datum": datum,
        "finely": finely,
        "canonical": canonical_in_words,
        "mats_in_words": mats_in_words,
        "mats_of_all": mats_of_all,
        "heights_above_mat": heights_above_mat,
        "small_picture": small_picture,
    }
