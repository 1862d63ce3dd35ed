"""Apparatus sheets: out for the clubs that come, and in from the hall that a club goes to."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import calibrations as desk_calibrations
from settingsdesk.desk.hall import mark_photos
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.desk.hall.mark_photos import ReadAt
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.hall.photos import NotAPhoto, Photo, PhotoTooLarge, read_small_photo
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.apparatus_sheet import (
    ApparatusSheet,
    NotASheet,
    SheetApparatus,
    SheetCalibration,
    SheetMark,
    from_bytes,
    to_bytes,
)
from settingsdesk.domain.hall.calibration import calibrate
from settingsdesk.domain.hall.doubts import doubts
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.store import clubs as kept_clubs
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class SheetLine:
    """What taking one apparatus of a sheet would do; ``does`` is empty where it changes nothing.

    ``asks`` is what a coach has to look at before it is relied on.
    """

    name: str
    model_name: str
    does: tuple[str, ...]
    asks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetLook:
    """A sheet as it would be taken."""

    sheet: ApparatusSheet
    lines: tuple[SheetLine, ...]

    @property
    def changes(self) -> bool:
        """Whether taking it would change anything."""
        return any(line.does for line in self.lines)


def export(
    session: ClubSession, apparatus_ids: Collection[int], hall: str, *, with_marks: bool = True
) -> ApparatusSheet:
    """The sheet of those apparatus, by name; ``NoneChosen`` where there are none.

    Without where marks are read a desk of an earlier version reads it, too.
    """
    pieces = [piece for piece in desk_apparatus.all_pieces(session) if piece.id in apparatus_ids]
    if not pieces:
        raise NoneChosen
    host = kept_clubs.this_club(session).name
    printed = desk_models.models(session, [piece.model_id for piece in pieces])
    told = tuple(_told(piece, printed[piece.model_id].model) for piece in pieces)
    marks = tuple(_marks_told(session, printed)) if with_marks else ()
    return ApparatusSheet(hall.strip(), host, today(), told, marks)


def _marks_told(session: ClubSession, printed: Mapping[int, ModelVersion]) -> Iterator[SheetMark]:
    """Where the marks of those models are read."""
    of_models = mark_photos.of_models(session, printed)
    photos = mark_photos.contents(session, of_models)
    for model_id, told in of_models.items():
        for axis, one in told.items():
            photo = photos.get(one.photo_id or 0, b"")
            yield SheetMark(printed[model_id].model.name, axis, one.words, photo)


def file_of(sheet: ApparatusSheet) -> bytes:
    """The sheet as the content of its file."""
    return to_bytes(sheet)


def look(session: ClubSession, content: bytes) -> SheetLook:
    """What taking a file would do, without changing anything; raises ``NotASheet``."""
    return _look(_here(session), from_bytes(content))


def take(session: ClubSession, content: bytes) -> SheetLook:
    """Keep all apparatus of a file as they are told there; taken twice it changes nothing.

    Where a mark is read is taken for adjustments of which the club says nothing itself. Decoding
    photos takes memory, as of any form (``photos.read_photo``).
    A model that the club has under that name with other scales stays as it is: the hall's is kept
    under a name that says the hall.
    """
    here, sheet = _here(session), from_bytes(content)
    seen = _look(here, sheet)
    for listed in sheet.apparatus:
        version = _model(session, here, sheet, listed.model)
        piece = _find(here, sheet, listed)
        if piece is None:
            name = _free_name(here, sheet, listed)
            piece = desk_apparatus.add_piece(session, name, listed.place, version.id, listed.mat_mm)
        elif (piece.place, piece.mats.on_record_mm) != (listed.place, listed.mat_mm):
            desk_apparatus.change_piece(session, piece.id, piece.name, listed.place, listed.mat_mm)
        here.pieces[piece.name] = piece
        _calibrate(session, piece, version.model, listed, sheet)
    for model_id, mark in _new_marks(here, sheet):
        mark_photos.keep(session, model_id, mark.axis, mark.words, _picture(mark))
    return seen


@dataclass(frozen=True, slots=True)
class _Here:
    """The club's own models and apparatus by name, with what was taken of the sheet so far."""

    models: dict[str, ModelVersion]
    pieces: dict[str, Piece]
    read_at: Mapping[int, Mapping[str, ReadAt]]
    unit: Unit


def _here(session: ClubSession) -> _Here:
    models = {version.model.name: version for version in desk_models.all_models(session)}
    return _Here(
        models,
        {piece.name: piece for piece in desk_apparatus.all_pieces(session)},
        mark_photos.of_models(session, [version.id for version in models.values()]),
        Unit(kept_clubs.this_club(session).length_unit),
    )


def _marks_of(here: _Here, sheet: ApparatusSheet, model: ApparatusModel) -> list[SheetMark]:
    """Where the marks of a model are read by the sheet, and the club itself says nothing."""
    version = here.models.get(_model_name(here, sheet, model))
    own = here.read_at.get(version.id, {}) if version else {}
    return [mark for mark in sheet.marks if mark.model == model.name and mark.axis not in own]


def _new_marks(here: _Here, sheet: ApparatusSheet) -> list[tuple[int, SheetMark]]:
    """The same of every model of the sheet, each with its number, once all are here."""
    models = {listed.model.name: listed.model for listed in sheet.apparatus}
    return [
        (here.models[_model_name(here, sheet, model)].id, mark)
        for model in models.values()
        for mark in _marks_of(here, sheet, model)
    ]


def _picture(mark: SheetMark) -> Photo | None:
    """The photo of a mark, encoded anew; ``NotASheet`` where it is none."""
    if not mark.photo:
        return None
    try:
        return read_small_photo(mark.photo)
    except (NotAPhoto, PhotoTooLarge) as refusal:
        where = f"the photo of {mark.model}, {mark.axis},"
        raise NotASheet(where, "is no picture that can be read") from refusal


def _look(here: _Here, sheet: ApparatusSheet) -> SheetLook:
    return SheetLook(sheet, tuple(_line(here, sheet, piece) for piece in sheet.apparatus))


def _told(piece: Piece, printed: ApparatusModel) -> SheetApparatus:
    return SheetApparatus(
        name=piece.name,
        place=piece.place,
        mat_mm=piece.mats.on_record_mm,
        model=printed,
        calibrations=tuple(
            SheetCalibration(
                axis,
                own.taken_on,
                tuple(own.calibration.taped),
                frozenset(own.calibration.left_out),
            )
            for axis, own in piece.own_scales.items()
        ),
    )


def _line(here: _Here, sheet: ApparatusSheet, listed: SheetApparatus) -> SheetLine:
    known = here.models
    name = _model_name(here, sheet, listed.model)
    does = []
    if name not in known:
        beside = "" if name == listed.model.name else ", since the club has another of that name"
        does.append(f"adds the model {name}{beside}")
    elif known[name].model != replace(listed.model, name=name):
        does.append(f"keeps a new version of the model {name}")
    if marks := _marks_of(here, sheet, listed.model):
        axes = [listed.model.axis(mark.axis).kind.in_a_sentence for mark in marks]
        does.append(f"says where its marks are read: {', '.join(axes)}")
    piece = _find(here, sheet, listed)
    if piece is None:
        does.append(f"adds the apparatus {_free_name(here, sheet, listed)}")
    else:
        if piece.mats.on_record_mm != listed.mat_mm or piece.place != listed.place:
            does.append("changes its place or mats")
        does += [
            f"uses the calibration of {day_in_words(each.taken_on)} for its"
            f" {listed.model.axis(each.axis).kind.in_a_sentence}"
            for each in _other_calibrations(piece, listed)
        ]
    return SheetLine(listed.name, name, tuple(does), tuple(_asks(listed.model, here.unit)))


def _asks(model: ApparatusModel, unit: Unit) -> Iterator[str]:
    if model.lacks_drop:
        yield (
            f"the drop between the rails for which its spread is printed is not on the sheet: enter"
            f" it for {model.name} before a rotation, a run or a card"
        )
    yield from (doubt.told(unit) for doubt in doubts(model))


def _model_name(here: _Here, sheet: ApparatusSheet, model: ApparatusModel) -> str:
    """Under which name the hall's model is kept: its own, unless that means something else here."""
    same = here.models.get(model.name)
    if same is None or same.model == model:
        return model.name
    return name_from_sheet(model.name, sheet.hall or sheet.host)


def name_from_sheet(name: str, hall: str) -> str:
    """What came from a hall is called so where its name means something else here."""
    return f"{name} ({hall})"


def _model(
    session: ClubSession, here: _Here, sheet: ApparatusSheet, model: ApparatusModel
) -> ModelVersion:
    name = _model_name(here, sheet, model)
    named = replace(model, name=name)
    reason = f"From the apparatus sheet of {sheet.hall or sheet.host}"
    known = here.models.get(name)
    if known is None:
        version = desk_models.add_model(session, named, reason)
    elif known.model == named:
        return known
    else:
        version = desk_models.change_model(session, known.id, named, reason, known.version)
    here.models[name] = version
    return version


def _find(here: _Here, sheet: ApparatusSheet, listed: SheetApparatus) -> Piece | None:
    """The apparatus that was taken from that hall before."""
    version = here.models.get(_model_name(here, sheet, listed.model))
    taken = (here.pieces.get(name) for name in (listed.name, _told_apart(sheet, listed)))
    return next(
        (piece for piece in taken if piece and version and piece.model_id == version.id), None
    )


def _free_name(here: _Here, sheet: ApparatusSheet, piece: SheetApparatus) -> str:
    return _told_apart(sheet, piece) if piece.name in here.pieces else piece.name


def _told_apart(sheet: ApparatusSheet, piece: SheetApparatus) -> str:
    return name_from_sheet(piece.name, sheet.hall or sheet.host)


def _other_calibrations(piece: Piece, listed: SheetApparatus) -> list[SheetCalibration]:
    """The calibrations of a sheet that are not those in use here."""
    return [
        each
        for each in listed.calibrations
        if (own := piece.own_scales.get(each.axis)) is None
        or (own.taken_on, tuple(own.calibration.taped), frozenset(own.calibration.left_out))
        != (each.taken_on, each.taped, each.left_out)
    ]


def _calibrate(
    session: ClubSession,
    piece: Piece,
    model: ApparatusModel,
    listed: SheetApparatus,
    sheet: ApparatusSheet,
) -> None:
    for each in _other_calibrations(piece, listed):
        fitted = calibrate(model.axis(each.axis).scale, each.taped, each.left_out)
        note = f"From the apparatus sheet of {sheet.hall or sheet.host}"
        desk_calibrations.keep_calibration(
            session, piece.id, each.axis, fitted, each.taken_on, note
        )


class NoneChosen(SettingsDeskError):
    """A sheet of no apparatus."""

    sentence = "Choose at least one apparatus"
