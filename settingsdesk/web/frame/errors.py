"""What went wrong, on a page of its own: what it was, and what to do. Never a trace."""

import errno
from collections.abc import Mapping

from flask import Flask, make_response, redirect, render_template, request, session, url_for
from flask_wtf.csrf import CSRFError  # type: ignore[import-untyped]  # it ships no types
from werkzeug.exceptions import HTTPException, InternalServerError, RequestEntityTooLarge
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts.failed_tries import TooManyAttempts
from settingsdesk.desk.accounts.invitations import (
    ActsElsewhere,
    InvitationOver,
    MemberAlready,
    NoSuchInvitation,
)
from settingsdesk.desk.accounts.passwords import ManyAtOnce
from settingsdesk.desk.accounts.people import LastOwner
from settingsdesk.desk.cards.in_hand import NoSuchCard
from settingsdesk.desk.cards.issued import MarksChanged
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.apparatus import DropUnknown
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.hall.photos import MOST_PHOTO_BYTES
from settingsdesk.desk.lists.handing_over import ChangedSince, NoLongerOpen
from settingsdesk.desk.lists.uploads import UploadGone
from settingsdesk.desk.meets.guest_clubs import NoSuchGuestLink
from settingsdesk.desk.meets.refusals import (
    ApparatusHasOrders,
    NotOnTheOrder,
    OrderChanged,
    OrderIsSet,
    RotationUnderWay,
)
from settingsdesk.desk.meets.same_person import AtTheBarsNow
from settingsdesk.desk.rotations.view import OrderIsDrawn, OrderIsNone
from settingsdesk.desk.runs.learned_times import TimesMovedOn
from settingsdesk.desk.runs.refusals import NoOrderToRun, RunUnderWay, ScaleChanged
from settingsdesk.desk.squad.athletes import TakenIn, WasErased
from settingsdesk.desk.squad.settings import HasOneAlready, MateHasNone
from settingsdesk.desk.squad.still_right import NotThatOneNow
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import NoSuchKind
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.checks.checks import NoSuchOccasion
from settingsdesk.domain.checks.findings import StepIsOver
from settingsdesk.domain.hall.models import SectionUnknown
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.store.errors import (
    DatabaseDoesNotAnswer,
    DatabaseIsElsewhere,
    DeskIsBusy,
    GivenUpForOthers,
    NoRoomLeft,
    NotInThisClub,
)
from settingsdesk.web.frame.language import said
from settingsdesk.web.frame.sent_again import carried, is_signed_out
from settingsdesk.web.frame.who_may import InstallationOwnersOnly, RoleMayNot
from settingsdesk.web.frame.work import told, work

Way = tuple[str, str]
"""Where to go and put it right: an address, and the words of the link."""

STATUSES: tuple[tuple[type[SettingsDeskError], int], ...] = (
    (NotInThisClub, 404),
    (RoleMayNot, 403),
    (InstallationOwnersOnly, 403),
    (NoSuchInvitation, 404),
    (InvitationOver, 410),
    (MemberAlready, 409),
    (LastOwner, 409),
    (ActsElsewhere, 409),
    (RunUnderWay, 409),
    (RotationUnderWay, 409),
    (OrderIsDrawn, 409),
    (OrderIsNone, 409),
    (OrderIsSet, 409),
    (OrderChanged, 409),
    (NotOnTheOrder, 409),
    (NoOrderToRun, 409),
    (MarksChanged, 409),
    (TakenIn, 409),
    (NotThatOneNow, 409),
    (HasOneAlready, 409),
    (MateHasNone, 409),
    (WasErased, 410),
    (ScaleChanged, 409),
    (TimesMovedOn, 409),
    (UploadGone, 410),
    (NoSuchCard, 404),
    (NoSuchGuestLink, 404),
    (NoLongerOpen, 410),
    (ChangedSince, 409),
    (NoSuchOccasion, 404),
    (NoSuchKind, 404),
    (WithdrawnFromUse, 409),
    (DropUnknown, 409),
    (SectionUnknown, 409),
    (StepIsOver, 409),
    (TooManyAttempts, 429),
    (DeskIsBusy, 503),
    (GivenUpForOthers, 503),
    (DatabaseDoesNotAnswer, 503),
    (DatabaseIsElsewhere, 503),
    (ManyAtOnce, 503),
    (NoRoomLeft, 507),
)
"""The status of a refusal by its class; 400 for every other."""

HEADINGS: Mapping[int, Sentence] = {
    400: Sentence("This could not be done"),
    401: Sentence("Sign in first"),
    403: Sentence("You may not open this"),
    404: Sentence("There is no such page"),
    405: Sentence("This page does not work that way"),
    409: Sentence("This cannot be done now"),
    410: Sentence("This is no longer here"),
    413: Sentence("The file is too large"),
    415: Sentence("This cannot be read here"),
    429: Sentence("Wait a little"),
    500: Sentence("Something went wrong here"),
    503: Sentence("Busy just now"),
    507: Sentence("The disk is full"),
}
WAYS_ON: Mapping[int, Sentence] = {
    400: Sentence(
        "What was sent could not be read. Go back, load the page again, and send the form once"
        " more."
    ),
    401: Sentence("Nobody is signed in on this device any more. Sign in, and go on."),
    403: Sentence(
        "This was asked for from another site, or it belongs to somebody else. Begin at the "
        "first page."
    ),
    404: Sentence("Check the address for a typing mistake, or start from the first page."),
    405: Sentence("Go back and use the buttons of the page."),
    413: Sentence(
        "Nothing was saved. A sheet may have up to %(sheet)s megabytes: keep one squad to a file,"
        " without pictures. Photos may have %(photos)s megabytes together: send fewer at once.",
        sheet=MOST_BYTES // 1_000_000,
        photos=MOST_PHOTO_BYTES // 1_000_000,
    ),
    415: Sentence("Nothing was saved. Go back and send the form of the page."),
    429: Sentence("Too much was asked for at once. Wait a minute, then load the page again."),
    503: Sentence(
        "Too much is going on just now. Nothing was changed. Wait a moment,"
        " then load the page again; at the apparatus, work from the printed card."
    ),
    500: Sentence(
        "It is in the log, for whoever looks after settingsdesk. Nothing was half-saved. Go "
        "back and try once more; at the apparatus, work from the printed card."
    ),
}
TOO_LARGE_OF_A_STRANGER = Sentence(
    "Nothing was kept. Sheets and photos are taken from a device on which somebody is signed in:"
    " sign in, and send the form once more."
)
FORM_TOO_OLD = Sentence(
    "This form is too old: the page was open for a long time, or you have signed in or out, or "
    "changed the club, since. Nothing was changed. Go back, load the page again, and send the form "
    "once more."
)


def handle_errors(app: Flask) -> None:
    """Give every error of the application its page."""
    app.register_error_handler(SettingsDeskError, refused)
    app.register_error_handler(TakenIn, taken_in)
    app.register_error_handler(CSRFError, form_too_old)
    app.register_error_handler(OSError, disk_is_full)
    app.register_error_handler(HTTPException, went_wrong)


def refused(refusal: SettingsDeskError) -> Response:
    """The desk's own words, lengths in the unit of the reader's club."""
    status = next((code for kind, code in STATUSES if isinstance(refusal, kind)), 400)
    response = page(status, told(refusal), _way_on(refusal))
    if isinstance(refusal, TooManyAttempts | ManyAtOnce):
        response.headers["Retry-After"] = str(refusal.wait_seconds)
    if isinstance(refusal, DeskIsBusy | GivenUpForOthers | DatabaseDoesNotAnswer):
        response.headers["Retry-After"] = "5"
    return response


def disk_is_full(error: OSError) -> Response:
    """What was sent in, or a paper on its way out, did not find room on the disk."""
    if error.errno != errno.ENOSPC:
        raise error
    return refused(NoRoomLeft())


def taken_in(refusal: TakenIn) -> Response:
    """An athlete's page leads on to the one of the entry that counts."""
    asked = request.view_args or {}
    if request.method == "GET" and asked.get("athlete_id") == refusal.athlete_id:
        return redirect(
            url_for(str(request.endpoint), **{**asked, "athlete_id": refusal.into_id}), 303
        )
    return refused(refusal)


def form_too_old(_error: CSRFError) -> Response:
    """The form's token is missing, spoilt or of another session; what was typed is kept."""
    typed = carried()
    if typed is None:
        return page(400, FORM_TOO_OLD)
    body = render_template("frame/sent_again.html", typed=typed, signed_out=is_signed_out())
    return make_response(body, 400)


def went_wrong(error: HTTPException) -> Response:
    """An answer of the framework; redirects pass as they are."""
    status = error.code or InternalServerError.code
    if status < 400:
        return error.get_response()
    sentence = WAYS_ON.get(status, WAYS_ON[400])
    if isinstance(error, RequestEntityTooLarge) and "stamp" not in session:
        sentence = TOO_LARGE_OF_A_STRANGER
    response = page(status, sentence)
    for name, value in error.get_headers():
        if name in ("Allow", "Retry-After"):
            response.headers[name] = value
    return response


def page(status: int, sentence: str, way: Way | None = None) -> Response:
    """The page of an error; ``way`` leads to where it is put right."""
    heading = said(HEADINGS.get(status, HEADINGS[400]))
    body = render_template("frame/error.html", heading=heading, sentence=sentence, way=way)
    return make_response(body, status)


def _way_on(refusal: SettingsDeskError) -> Way | None:
    """The field or the run that a refusal waits for, where it waits for one."""
    match refusal:
        case (
            AtTheBarsNow(run_id=run_id, rotation=rotation)
            | RunUnderWay(run_id=run_id, rotation=rotation)
        ):
            return url_for("bars.show", run_id=run_id), f"Open the run of {rotation}"
        case ApparatusHasOrders(rotation_id=rotation_id):
            return url_for("start_orders.show", rotation_id=rotation_id), "Open the start order"
        case DropUnknown(model_id=model_id, model=model):
            what, field = "drop", "reference_drop"
        case SectionUnknown(model=model):
            with work() as session:
                model_id = desk_models.id_of(session, model)
            what, field = "section", "section_height"
        case _:
            return None
    address = url_for("models.change", model_id=model_id, _anchor=field)
    return address, f"Enter the {what} of {model}"
