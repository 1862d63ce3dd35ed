"""The station: what volunteers' phones see and confirm at one apparatus, without an account."""

import json
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from flask import (
    Blueprint,
    current_app,
    flash,
    g,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)
from flask import Response as Answer
from flask import session as cookie
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from settingsdesk.desk.accounts.failed_tries import SHORT_CODES, SHORT_CODES_OF_KNOWN, whence
from settingsdesk.desk.cards.code_address import is_scanned
from settingsdesk.desk.cards.in_hand import NoSuchCard
from settingsdesk.desk.cards.read_off import ReadOff
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import mark_photos, photos
from settingsdesk.desk.hall.apparatus import DropUnknown, SetupUnknown
from settingsdesk.desk.hall.in_use import WithdrawnFromUse
from settingsdesk.desk.runs.presses import is_of_a_phone, shown_name
from settingsdesk.desk.runs.refusals import NoOrderToRun, NothingSaidToBeWrong, SaidAtLength
from settingsdesk.desk.runs.state import state_of
from settingsdesk.desk.stations import by_hand, card_verdict, confirming, stations
from settingsdesk.desk.stations.at_station import AtStation, NotThisStation, at_station
from settingsdesk.desk.stations.by_hand import NotLetInYet
from settingsdesk.desk.stations.confirming import Standing
from settingsdesk.desk.stations.stations import (
    LONGEST_NAME,
    NoSuchStation,
    Out,
    PhoneIn,
    StationIsFull,
    VolunteerUnnamed,
)
from settingsdesk.desk.stations.verdict import Kind, Verdict
from settingsdesk.domain.base.codes import (
    CharacterInNoCode,
    CheckCharacterDoesNotFit,
    ShortCodeLength,
    read_short_code,
)
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.changeover.run import NotNow
from settingsdesk.domain.settings.lengths_line import LineRefused
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import ClubSession
from settingsdesk.web.frame.axis_fields import alone_mm, blaming, read_off_form
from settingsdesk.web.frame.fields import (
    AS_PRINTED,
    ParagraphField,
    WordsField,
    number_carried,
)
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.known_device import know, known_as
from settingsdesk.web.frame.language import language, said
from settingsdesk.web.frame.security import (
    asked_by_script,
    let_phone_in,
    put_phone_out,
)
from settingsdesk.web.frame.work import code_key, desk, phone, told
from settingsdesk.web.runs.at_apparatus import (
    AT_A_STATION,
    NOT_CONFIRMED,
    ToCheck,
    facts,
    latest_answer,
    marks_recorded,
    press,
    right_now,
    sign,
    to_check,
    words_of_the_script,
)
from settingsdesk.web.stations.station_codes import TooManyCodes, trying

blueprint = Blueprint("station", __name__)
blueprint.after_request(sign)

Page = str | Response | tuple[str, int]

STATIONS = "stations"
"""As what phones are counted that type codes of stations."""
WAITS = "waits"
"""Where the cookie has what the code of a waiting phone is worked out from."""

ON_THE_MACHINE = ("localhost", "127.0.0.1")
"""Where browsers give a page the camera without https."""

LONGEST_TYPED = 300
"""Letters of a card's address as a hand-held reader types it; the rest is cut off."""

REFUSED = (*NOT_CONFIRMED, DropUnknown, NoOrderToRun, NotThisStation, SetupUnknown)
"""What the station's page tells by itself, with what is to be done instead."""

NOTHING_KEPT = Sentence("Nothing was saved")
"""What is said where the page itself says that the apparatus is out of use."""

MISTYPED = (CharacterInNoCode, CheckCharacterDoesNotFit, ShortCodeLength)
NO_WAY_IN = (*MISTYPED, NoSuchStation, StationIsFull)
"""What is said beside the field for a code."""

BY_THE_WORKER: Mapping[str, Sentence] = {
    "title": Sentence("No copy of this page"),
    "none": Sentence("There is no network, and no copy of this page on this phone"),
    "rest": Sentence(
        "Set nothing by what you remember: use what is printed. What you confirmed before and what"
        " is not through yet stays kept."
    ),
    "again": Sentence("Look again"),
}
"""What a phone says that has neither a network nor a copy of the page."""
TOLD_BY_THE_WORKER = re.compile(r"const TOLD = \{.*?\};", re.DOTALL)

WAYS_OF_KINDS: Mapping[Kind, str] = {
    Kind.RIGHT: "ok",
    Kind.ANOTHER: "look",
    Kind.OVER: "look",
    Kind.NOT_LISTED: "look",
    Kind.ELSEWHERE: "look",
}
"""The tag that goes with a verdict: a tick, a heed; a cross for all others."""


class Shown(NamedTuple):
    """What a unit of work found for the station's page."""

    standing: Standing
    check: ToCheck

    @property
    def state(self) -> str:
        """Another one as soon as the page would be another one."""
        view = self.standing.view
        return state_of(self, view.name if view else "", self.of_another_day)

    @property
    def of_another_day(self) -> tuple[str, str] | None:
        """Of which day the next rotation is, and which day it is now, where these differ."""
        waiting, now = self.standing.waiting, today()
        if waiting is None or waiting.session.held_on == now:
            return None
        return day_in_words(waiting.session.held_on), day_in_words(now)


@blueprint.context_processor
def for_this_station() -> dict[str, Any]:
    """What the templates of the station may call: lengths in the host's unit, and the time."""
    return {
        "length": length,
        "reading_in": lambda: phone().length_unit,
        "has_camera": request.is_secure or request.host.partition(":")[0] in ON_THE_MACHINE,
        "words_here": words_of_the_script(AT_A_STATION),
        **right_now(),
    }


def _name_field() -> WordsField:
    return WordsField(
        Sentence("The name your crew uses"),
        width="w-16",
        most=LONGEST_NAME,
        ask=Sentence("Enter the name your crew uses"),
        render_kw={"autocomplete": "nickname"},
    )


class WayInForm(DeskForm):
    """The code of the sheet, and what the others call the volunteer."""

    code = WordsField(
        Sentence("Code of the station"),
        width="w-16",
        most=60,
        ask=Sentence("Enter the code that stands on the sheet at the apparatus"),
        render_kw=AS_PRINTED,
    )
    name = _name_field()


class NameForm(DeskForm):
    """The name alone, of a phone that is let in by hand."""

    name = _name_field()


class FaultForm(DeskForm):
    """What somebody at the apparatus sees that is wrong."""

    words = ParagraphField(
        Sentence("What is wrong, and where"),
        ask=Sentence("Write what is wrong, and where"),
    )


class CardForm(DeskForm):
    """A card's address, code or line of lengths, from a hand-held reader or typed by hand."""

    card = WordsField(
        Sentence("Card"),
        most=LONGEST_TYPED,
        ask=Sentence("Scan a card, or type its short code or its line of digits"),
        render_kw=AS_PRINTED,
    )


@blueprint.get("/s/<code>", alias=True)
@blueprint.get("/S/<code>")
def scanned(code: str) -> Page:
    """The code of the sheet was scanned: ask for the name, and then let the phone in.

    A phone that is in there already is led to the station's page.
    """
    form = WayInForm(None, data={"code": code.upper()})
    with form.refusals(form.code, *NO_WAY_IN):
        station_id = _find(code)
        if g.phone and station_id == g.phone.station_id:
            return redirect(url_for("station.now"), 303)
    return _way_in(form, 404 if form.mistakes else 200)


@blueprint.route("/station", methods=["GET", "POST"])
def enter() -> Page:
    """Type the code and a name, and come in; also told to whoever is not in any more.

    A station where the phone was in before is left.
    """
    form = WayInForm()
    if form.accepted():
        with form.refusals(form.name, VolunteerUnnamed), form.refusals(form.code, *NO_WAY_IN):
            _find(form.code.data)
            code, name = form.code.data, form.name.data
            _is_in(stations.let_in(desk().store, code_key(), code, name, g.phone), name)
            return redirect(url_for("station.now"), 303)
    return _way_in(form, form.status)


@blueprint.route("/station/waiting", methods=["GET", "POST"])
def waiting() -> Page:
    """Show a code that whoever is at the desk types there, and come in once they have."""
    form = NameForm()
    wait = cookie.setdefault(WAITS, by_hand.new_wait())
    if form.accepted():
        with (
            form.refusals(form.name, VolunteerUnnamed),
            form.refusals(None, NotLetInYet, StationIsFull),
        ):
            come_in = by_hand.join(desk().store, code_key(), wait, form.name.data, g.phone)
            cookie.pop(WAITS)
            _is_in(come_in, form.name.data)
            return redirect(url_for("station.now"), 303)
    code = by_hand.shown_code(code_key(), wait)
    return render_template("stations/phone/waiting.html", form=form, code=code), form.status


def _is_in(come_in: PhoneIn, typed: str) -> None:
    """Remember a phone that was let in, and tell it where it has another name than was typed."""
    let_phone_in(come_in)
    know(STATIONS)
    name = " ".join(typed.split())
    if come_in.shown_name != name:
        own = come_in.shown_name
        flash(said(Sentence("%(name)s is here already: you are %(own)s.", name=name, own=own)))


def _way_in(form: WayInForm, status: int) -> Response:
    out = request.args.get("out", "") if request.method == "GET" else ""
    page = render_template("stations/phone/enter.html", form=form, out=out, is_in=bool(g.phone))
    response = make_response(page, status)
    if out and not g.coach:  # a coach's confirmations may be kept beside the station's
        response.headers["Clear-Site-Data"] = '"storage"'
    return response


@blueprint.get("/station/worker.js")
def worker() -> Response:
    """Shows the copy of the station's page; below its address, so that it serves only it.

    What it says by itself it says in the reader's language: another choice makes it another file,
    which browsers look for whenever they come.
    """
    here = language()
    told = {key: here.said(words) for key, words in BY_THE_WORKER.items()}
    english = " ".join(BY_THE_WORKER[key] for key in ("none", "rest")) if here.unread else ""
    told |= {"lang": here.tag, "dir": here.direction, "english": english}
    file = Path(str(current_app.static_folder), "apparatus_worker.js").read_text("utf-8")
    script = TOLD_BY_THE_WORKER.sub(lambda _: f"const TOLD = {json.dumps(told)};", file, count=1)
    return make_response(script, {"Content-Type": "text/javascript; charset=utf-8"})


@blueprint.get("/station/now")
def now() -> Page:
    """Who is on, who is next, what to move from what stands there now."""
    return _now()


@blueprint.get("/station/latest")
def latest() -> Answer:
    """A state that is another one as soon as the station's page is not true any more.

    Every phone asks each second: as long as nothing was written, the answer is the kept one.
    """
    return latest_answer(_state())


def _state() -> str:
    """The state of the station's page as this request found it; the kept one while it is true."""

    def state() -> str:
        with _work() as session:
            return _looked_at(session).state

    question = ("state of station", phone().station_id, today())
    return desk().kept.answer(question, phone().revision, state)


def _form_page(template: str, state: str, **about: Any) -> str:
    """A page with a form, which says when something happened at the station since it was made."""
    fresh = {"state": state or _state(), "phone": phone()}
    return render_template(f"stations/phone/{template}.html", **about, **fresh)


@blueprint.get("/station/mark-photos/<int:photo_id>")
def mark_photo(photo_id: int) -> Answer:
    """A photo of where a mark of the station's apparatus is read; no other is anybody's here."""
    with _work() as session:
        here = at_station(session, phone())
        shown_here = mark_photos.of_model(session, here.piece.model_id).values()
        if photo_id not in {told.photo_id for told in shown_here}:
            raise NotInThisClub("photo", photo_id)
        kept = photos.kept_photo(session, photo_id)
    response = make_response(kept.content)
    response.headers["Content-Type"] = photos.MEDIA_TYPE
    return response


@blueprint.post("/station/begin")
def begin() -> Page:
    """Begin the next rotation."""
    rotation_id = number_carried(request.form.get("rotation"))
    stands = tuple(map(number_carried, request.form.get("stands", "").split("-")))
    of_day = request.form.get("of_day", "")
    return _done(
        lambda session: confirming.begin(session, phone(), rotation_id, stands, of_day=of_day)
    )


@blueprint.post("/station/confirm")
def confirm() -> Page:
    """Confirm what the pressed button says; sent once more, it changes nothing."""
    run_id, sent = number_carried(request.form.get("run")), press()
    return _done(lambda session: confirming.confirm(session, phone(), run_id, sent))


@blueprint.route("/station/end/<int:run_id>", methods=["GET", "POST"])
def end(run_id: int) -> Page:
    """End the rotation without those who are not here; asked once more before."""
    try:
        with _work(writes=request.method == "POST") as session:
            if request.method == "POST":
                confirming.end(session, phone(), run_id)
                return redirect(url_for("station.now"), 303)
            looked_at = _looked_at(session)
            view = confirming.to_end(looked_at.standing, run_id)
    except NotNow as refusal:
        return _refused(refusal)
    return _form_page("end", looked_at.state, view=view)


@blueprint.route("/station/marks", methods=["GET", "POST"])
def marks() -> Page:
    """What stands there was read off, and it is not what the page says."""
    try:
        with _work(writes=request.method == "POST") as session:
            here = at_station(session, phone())
            here.piece.must_be_in_use()
            before = confirming.to_read_off(session, here)
            sent = request.method == "POST"
            state = "" if sent else _shown(session, confirming.standing(session, here)).state
            model, latest_event = here.piece.model, before.number if before else 0
            form = read_off_form(model, latest_event)
            if form.accepted():
                stops = [form[axis.key].data for axis in model.axes]
                with (
                    form.refusals(),
                    blaming(form, model, alone_mm(model, stops), alone_mm(model, here.piece.setup)),
                    session.or_nothing(),
                ):
                    seen = number_carried(form["seen"].data)
                    here = confirming.read_off(session, here, before, seen, stops)
                    seen_now = confirming.view(session, here)
                    run = seen_now.run if seen_now else None
                    flash(said(marks_recorded(seen_now, run)))
                    return redirect(url_for("station.now"), 303)
    except WithdrawnFromUse as refusal:
        return _refused(refusal)
    form["seen"].raw_data = [str(latest_event)]
    return _form_page("marks", state, form=form, piece=here.piece), form.status


@blueprint.route("/station/fault", methods=["GET", "POST"])
def fault() -> Page:
    """Something is wrong with the apparatus: the work stops until a coach has looked."""
    form = FaultForm()
    try:
        if form.accepted():
            with (
                form.refusals(form.words, NothingSaidToBeWrong, SaidAtLength),
                _work(writes=True) as session,
            ):
                confirming.hold_up(session, phone(), form.words.data)
                return redirect(url_for("station.now"), 303)
    except REFUSED as refusal:
        return _refused(refusal)
    with _work() as session:
        looked_at = _looked_at(session)
    piece = looked_at.standing.piece
    return _form_page("fault", looked_at.state, form=form, piece=piece), form.status


@blueprint.post("/station/card")
def card() -> Page:
    """Whose card this is, whether it counts, and whether it is their turn."""
    form = CardForm()
    if form.accepted():
        with form.refusals(form.card, *MISTYPED, LineRefused, card_verdict.StationsCode):
            try:
                return _verdict(card_verdict.read(form.card.data))
            except TooManyCodes as refusal:
                form.card.errors = [told(refusal)]
                wait = {"Retry-After": str(refusal.wait_seconds)}
                return make_response(_card_asked(form), 429, wait)
    return _card_asked(form), form.status


@blueprint.get("/station/scan")
def scan() -> str:
    """Read a card's code by the phone's own camera; where it cannot, the code is typed."""
    return _form_page("scan", "", form=CardForm(MultiDict()))


@blueprint.post("/station/leave")
def leave() -> Response:
    """Leave the station with this phone."""
    with _work(writes=True) as session:
        stations.put_out(session, phone().phone_id)
    put_phone_out()
    return redirect(url_for("station.enter", out=Out.LEFT.value), 303)


def card_at_the_station(code: str, line: str) -> str:
    """The answer to a card's address that the phone's own camera opened."""
    return _verdict(ReadOff(code.upper(), line, address=code_key().public_url))


def length(mm: float) -> str:
    """A length in the unit of the host's club: "170.0 cm"."""
    return said(length_in_words(mm, phone().length_unit))


def _done(confirmed: Callable[[ClubSession], AtStation]) -> Page:
    """Confirm, and show what comes next; the script gets it at once, in the same unit of work."""
    try:
        with _work(writes=True) as session:
            here = confirmed(session)
            if asked_by_script():
                shown = _shown(session, confirming.standing(session, here))
    except REFUSED as refusal:
        return _refused(refusal)
    return _page(shown) if asked_by_script() else redirect(url_for("station.now"), 303)


def _refused(refusal: SettingsDeskError) -> tuple[str, int]:
    """The station's page with what is to be done instead; why it is out of use is the coach's."""
    return _now(NOTHING_KEPT if isinstance(refusal, WithdrawnFromUse) else told(refusal)), 409


def _now(refused: str = "") -> str:
    with _work() as session:
        shown = _looked_at(session)
    return _page(shown, refused)


def _looked_at(session: ClubSession) -> Shown:
    return _shown(session, confirming.look(session, phone()))


def _shown(session: ClubSession, standing: Standing) -> Shown:
    return Shown(standing, to_check(session, standing.view))


def _page(shown: Shown, refused: str = "") -> str:
    others = shown.standing.others(phone().phone_id)

    def has_own(name: str) -> bool:
        return is_of_a_phone(name) and shown_name(name) in others

    return render_template(
        "stations/phone/now.html",
        standing=shown.standing,
        others=others,
        state=shown.state,
        refused=refused,
        of_another_day=shown.of_another_day,
        form=CardForm(MultiDict()),
        phone=phone(),
        until=phone().until.astimezone(),
        **facts(
            shown.standing.view,
            shown.check,
            phone().length_unit,
            "station.mark_photo",
            has_own,
        ),
    )


def _verdict(shown: ReadOff) -> str:
    """The verdict on a card; codes that are none are counted, so that nobody guesses any."""
    found, refused = None, None
    what, where = f"cards at station {phone().station_id}", f"phone {phone().phone_id}"
    if shown.code:
        with trying(what, shown.code, where) as tried:
            try:
                found = card_verdict.find(desk().store, code_key(), shown)
                tried.is_code = True
            except NoSuchCard as refusal:
                refused = card_verdict.no_such_card(refusal)
    with _work() as session:
        here = at_station(session, phone())
        standing = confirming.standing(session, here)
        verdict = refused or card_verdict.look(session, here, standing, shown, found)
        state = _shown(session, standing).state
    return _card_page(CardForm(MultiDict()), state, verdict)


def _card_asked(form: CardForm) -> str:
    """The page of a card that was not looked at."""
    with _work() as session:
        state = _looked_at(session).state
    return _card_page(form, state)


def _card_page(form: CardForm, state: str, verdict: Verdict | None = None) -> str:
    way = WAYS_OF_KINDS.get(verdict.kind, "stop") if verdict else ""
    return render_template(
        "stations/phone/card.html",
        form=form,
        verdict=verdict,
        way=way,
        state=state,
        phone_id=phone().phone_id,
        **for_this_station(),  # also where the card's own room asks
    )


def _find(code: str) -> int:
    """The number of the open station that has that code; what is only mistyped is no guess."""
    if not is_scanned(code):
        read_short_code(code)
    known = known_as(STATIONS)
    limits = SHORT_CODES_OF_KNOWN if known else SHORT_CODES
    with trying(STATIONS, code, known or whence(request.remote_addr), limits) as tried:
        _club_id, station_id = stations.find(desk().store, code_key(), code)
        tried.is_code = True
    return station_id


@contextmanager
def _work(*, writes: bool = False) -> Iterator[ClubSession]:
    """One unit of work in the club of this station's meet."""
    acting = phone()
    with desk().store.work(acting.club_id, by=acting.by, writes=writes) as session:
        yield session
