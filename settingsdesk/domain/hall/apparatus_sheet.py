"""The apparatus sheet: a hall's apparatus as one file, so that a visiting club can print its cards.

A JSON text (RFC 8259). ``format`` and ``version`` say what it is; ``hall``, ``host`` and
``made_on`` where it comes from; ``apparatus`` is a list, each with ``name``, ``place``,
``mat_mm``, ``model`` as ``definition`` describes it, and ``calibration``: per axis the day and
the stops that were taped, in millimetres of the printed scale's datum. ``marks``, where there are
any, say by ``model`` and ``axis`` in ``words`` where a mark is read, with a ``photo`` of it (JPEG
in base64), which may be empty. It holds nothing else: a reader refuses what it does not know, and
nothing in it is ever run or fetched.
"""

import json
from base64 import b64decode, b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite
from typing import Any

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first
from settingsdesk.domain.hall import mats
from settingsdesk.domain.hall.calibration import TapedStop
from settingsdesk.domain.hall.definition import model_from_data, model_to_data, says_more
from settingsdesk.domain.hall.models import ApparatusModel

FORMAT = "settingsdesk apparatus sheet"
VERSIONS = (1, 2, 3)
"""2 says which measures are guesses and which rulers are printed in inches, 3 where marks are
read."""
MOST_FIGURES = 15  # of a number; a length in millimetres has five
MOST_BYTES = 6_000_000
MOST_MARKS = 200
MOST_PHOTO_BYTES = 80_000
MOST_APPARATUS = 60
MOST_TAPED = 200
LONGEST_WORDS = 120
LONGEST_MM = 100_000


@dataclass(frozen=True, slots=True)
class SheetCalibration:
    """The stops of one axis that were taped on an apparatus, and which of them were left out."""

    axis: str
    taken_on: date
    taped: tuple[TapedStop, ...]
    left_out: frozenset[int]


@dataclass(frozen=True, slots=True)
class SheetApparatus:
    """One apparatus of the hall: its model on the printed scales, its mats, its calibrations."""

    name: str
    place: str
    mat_mm: int
    model: ApparatusModel
    calibrations: tuple[SheetCalibration, ...]


@dataclass(frozen=True, slots=True)
class SheetMark:
    """Where the mark of one axis of a model is read; ``photo`` are the bytes of a JPEG, or none."""

    model: str
    axis: str
    words: str
    photo: bytes = b""


@dataclass(frozen=True, slots=True)
class ApparatusSheet:
    """All of it: which hall, who wrote it and when, what stands there, and where marks are read."""

    hall: str
    host: str
    made_on: date
    apparatus: tuple[SheetApparatus, ...]
    marks: tuple[SheetMark, ...] = ()

    @property
    def version(self) -> int:
        """The first version of the format that says all of it."""
        if self.marks:
            return 3
        return 2 if any(says_more(piece.model) for piece in self.apparatus) else 1


def to_bytes(sheet: ApparatusSheet) -> bytes:
    """The sheet as the content of its file, of the first version that says all of it.

    A desk that knows version 1 alone would take guesses as measured and an inch ruler's marks as
    centimetres: it refuses version 2, and goes on reading every other sheet. ``SheetTooLarge``
    where no desk would read it.
    """
    told = {
        "format": FORMAT,
        "version": sheet.version,
        "hall": sheet.hall,
        "host": sheet.host,
        "made_on": sheet.made_on.isoformat(),
        "apparatus": [
            {
                "name": piece.name,
                "place": piece.place,
                "mat_mm": piece.mat_mm,
                "model": model_to_data(piece.model),
                "calibration": [_calibration_to_data(each) for each in piece.calibrations],
            }
            for piece in sheet.apparatus
        ],
    }
    if sheet.marks:
        told["marks"] = [
            {
                "model": mark.model,
                "axis": mark.axis,
                "words": mark.words,
                "photo": b64encode(mark.photo).decode(),
            }
            for mark in sheet.marks
        ]
    content = json.dumps(told, ensure_ascii=False, indent=1, allow_nan=False).encode()
    if len(content) > MOST_BYTES:
        raise SheetTooLarge
    return content


def from_bytes(content: bytes) -> ApparatusSheet:
    """The sheet that a file holds; ``NotASheet`` names the place of whatever does not fit."""
    if len(content) > MOST_BYTES:
        raise NotASheet("the file", f"has more than {MOST_BYTES // 1000} kB")
    told = _object("the file", _parsed(content))
    if told.get("format") != FORMAT:
        raise NotASheet("the file", "is no apparatus sheet: ask the host for the one of the hall")
    if told.get("version") not in VERSIONS:
        known = f"{VERSIONS[0]} to {VERSIONS[-1]}"
        raise NotASheet(
            "the file", f"is of version {told.get('version')!r}, and {known} are read here"
        )
    names = ("format", "version", "hall", "host", "made_on", "apparatus")
    _only("the file", told, (*names, "marks") if told["version"] == VERSIONS[-1] else names)
    listed = _list("apparatus", told.get("apparatus"), MOST_APPARATUS)
    if not listed:
        raise NotASheet("apparatus", "holds none")
    sheet = ApparatusSheet(
        hall=_words("hall", told.get("hall")),
        host=_words("host", told.get("host")),
        made_on=_day("made_on", told.get("made_on")),
        apparatus=tuple(
            _apparatus(f"apparatus {place}", told) for place, told in enumerate(listed, start=1)
        ),
    )
    called = [piece.name.casefold() for piece in sheet.apparatus]
    if len(set(called)) < len(called):
        raise NotASheet("apparatus", "holds two of one name")
    return replace(sheet, marks=_marks(sheet, told.get("marks", [])))


def _marks(sheet: ApparatusSheet, told: Any) -> tuple[SheetMark, ...]:
    """Where marks are read; of models that stand on the sheet, each axis once."""
    models = {piece.model.name: piece.model for piece in sheet.apparatus}
    marks = []
    for place, one in enumerate(_list("marks", told, MOST_MARKS), start=1):
        where = f"marks, number {place}"
        data = _object(where, one)
        _only(where, data, ("model", "axis", "words", "photo"))
        model = models.get(_words(f"{where}, model", data.get("model")))
        if model is None:
            raise NotASheet(where, "names a model of which no apparatus is on the sheet")
        axis = data.get("axis")
        if axis not in [own.key for own in model.axes]:
            raise NotASheet(where, f"names {axis!r}, which the model does not have")
        words = _words(f"{where}, words", data.get("words"))
        photo = _photo(f"{where}, photo", data.get("photo"))
        marks.append(SheetMark(model.name, str(axis), words, photo))
    if len({(mark.model, mark.axis) for mark in marks}) < len(marks):
        raise NotASheet("marks", "says something twice of one adjustment")
    return tuple(marks)


def _photo(where: str, told: Any) -> bytes:
    try:
        content = b64decode(told, validate=True)
    except (TypeError, ValueError) as e:
        raise NotASheet(where, "is no picture as a sheet has it") from e
    if len(content) > MOST_PHOTO_BYTES:
        raise NotASheet(where, f"has more than {MOST_PHOTO_BYTES // 1000} kB")
    return content


def _parsed(content: bytes) -> Any:
    try:
        told = json.loads(
            content.decode("utf-8-sig"),
            object_pairs_hook=_without_doubles,
            parse_constant=_no_number,
            parse_int=_whole_number,
            parse_float=_fraction,
        )
        # Half of a pair of surrogates can be escaped in JSON, and written nowhere.
        json.dumps(told, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError as e:
        raise NotASheet("the file", "has a sign that no text can have: type it again") from e
    except (ValueError, RecursionError) as e:
        raise NotASheet("the file", "is no JSON text: send it again as it was saved") from e
    return told


def _whole_number(figures: str) -> int:
    if len(figures) > MOST_FIGURES:
        raise NotASheet("the file", f"has a number of more than {MOST_FIGURES} figures")
    return int(figures)


def _fraction(figures: str) -> float:
    number = float(figures)
    return number if isfinite(number) else _no_number("more than any length")


def _without_doubles(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    told = dict(pairs)
    if len(told) < len(pairs):
        raise NotASheet("the file", "says something twice in one place")
    return told


def _no_number(name: str) -> float:
    raise NotASheet("the file", f"has {name} for a number")


def _apparatus(where: str, told: Any) -> SheetApparatus:
    data = _object(where, told)
    _only(where, data, ("name", "place", "mat_mm", "model", "calibration"))
    name = _words(f"{where}, name", data.get("name"))
    if not name:
        raise NotASheet(f"{where}, name", "is empty")
    try:
        model = model_from_data(_object(f"{where}, model", data.get("model")))
    except NotASheet:
        raise
    except SettingsDeskError as refusal:
        raise NotASheet(
            f"{where}, model", f"does not fit: {lower_first(str(refusal))}"
        ) from refusal
    _words(f"{where}, model, name", model.name)
    listed = _list(f"{where}, calibration", data.get("calibration"), len(model.axes))
    calibrations = tuple(_calibration(f"{where}, calibration", model, told) for told in listed)
    return SheetApparatus(
        name=name,
        place=_words(f"{where}, place", data.get("place")),
        mat_mm=_whole(f"{where}, mat_mm", data.get("mat_mm"), mats.THICKEST_MM),
        model=model,
        calibrations=calibrations,
    )


def _calibration(where: str, model: ApparatusModel, told: Any) -> SheetCalibration:
    data = _object(where, told)
    _only(where, data, ("axis", "taken_on", "taped"))
    axis = data.get("axis")
    scale = next((own.scale for own in model.axes if own.key == axis), None)
    if scale is None:
        raise NotASheet(where, f"names {axis!r}, which the model does not have")
    taped, left_out = [], set()
    for place, told in enumerate(_list(f"{where} of {axis}", data.get("taped"), MOST_TAPED), 1):
        at = f"{where} of {axis}, reading {place}"
        line = _object(at, told)
        _only(at, line, ("stop", "length_mm", "left_out"))
        stop = _whole(f"{at}, stop", line.get("stop"), scale.count - 1)
        taped.append(TapedStop(stop, _length_mm(f"{at}, length_mm", line.get("length_mm"))))
        if line.get("left_out") not in (True, False):
            raise NotASheet(f"{at}, left_out", "is neither true nor false")
        if line["left_out"]:
            left_out.add(stop)
    taken_on = _day(f"{where} of {axis}, taken_on", data.get("taken_on"))
    return SheetCalibration(str(axis), taken_on, tuple(taped), frozenset(left_out))


def _calibration_to_data(calibration: SheetCalibration) -> dict[str, Any]:
    return {
        "axis": calibration.axis,
        "taken_on": calibration.taken_on.isoformat(),
        "taped": [
            {
                "stop": reading.stop,
                "length_mm": reading.length_mm,
                "left_out": reading.stop in calibration.left_out,
            }
            for reading in calibration.taped
        ],
    }


def _object(where: str, told: Any) -> dict[str, Any]:
    if not isinstance(told, dict):
        raise NotASheet(where, "is no object with names and values")
    return told


def _list(where: str, told: Any, most: int) -> list[Any]:
    if not isinstance(told, list) or len(told) > most:
        raise NotASheet(where, f"is no list of at most {most}")
    return told


def _only(where: str, told: Mapping[str, Any], names: Sequence[str]) -> None:
    unknown = [name for name in told if name not in names]
    if unknown:
        raise NotASheet(where, f"says {unknown[0]!r}, which no sheet of this version has")


def _words(where: str, told: Any) -> str:
    if not isinstance(told, str) or len(told) > LONGEST_WORDS or not (told + " ").isprintable():
        raise NotASheet(where, f"is no text of at most {LONGEST_WORDS} characters on one line")
    return told.strip()


def _day(where: str, told: Any) -> date:
    try:
        return date.fromisoformat(told)
    except (TypeError, ValueError) as e:
        raise NotASheet(where, "is no day like 2026-05-30") from e


def _whole(where: str, told: Any, most: int) -> int:
    if isinstance(told, bool) or not isinstance(told, int) or not 0 <= told <= most:
        raise NotASheet(where, f"is no whole number from 0 to {most}")
    return told


def _length_mm(where: str, told: Any) -> float:
    is_number = isinstance(told, int | float) and not isinstance(told, bool)
    if not is_number or not isfinite(told) or not 0 < told <= LONGEST_MM:
        raise NotASheet(where, f"is no length from 0 to {LONGEST_MM} millimetres")
    return float(told)


class SheetTooLarge(SettingsDeskError):
    """So many photos that no desk would read the file."""

    sentence = (
        f"With all its photos this sheet would have more than {MOST_BYTES // 1_000_000} MB, which"
        " no club could read in: save it without photos, or with fewer apparatus"
    )


class NotASheet(SettingsDeskError):
    """A file that is no apparatus sheet, or one that was changed by hand."""

    def __init__(self, where: str, why: str) -> None:
        self.where, self.why = where, why

    def __str__(self) -> str:
        return f"This file cannot be taken: {self.where} {self.why}"
