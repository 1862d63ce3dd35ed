"""Stations of a meet: opened for volunteers' phones by a coach, watched, and closed at once."""

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from settingsdesk.cards.symbol import Symbol, qr_symbol
from settingsdesk.desk.meets import meets, start_orders
from settingsdesk.desk.stations import by_hand, stations
from settingsdesk.domain.base.codes import (
    CharacterInNoCode,
    CheckCharacterDoesNotFit,
    ShortCodeLength,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.web.frame.fields import AS_PRINTED, WordsField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import code_key, desk, told, work

blueprint = Blueprint("stations", __name__, url_prefix="/stations")
blueprint.context_processor(for_templates)

HOURS = (2, 4, stations.USUAL_HOURS, 12)
"""For how long a station may be opened by one press."""
MISTYPED = (CharacterInNoCode, CheckCharacterDoesNotFit, ShortCodeLength)


class ByHandForm(DeskForm):
    """What the phone shows that is let in by hand."""

    phone_code = WordsField(
        "Code that the phone shows",
        width="w-16",
        most=60,
        ask="Enter the code that the phone shows",
        render_kw=AS_PRINTED,
    )


@blueprint.get("/sessions/<int:session_id>")
def of_session(session_id: int) -> str:
    """The apparatus of one session, and which of them are open to phones."""
    with work() as session:
        meet = meets.meet_of_session(session, session_id)
        known = stations.of_session(session, meet, session_id)
        orders = start_orders.orders_at(session, meet)
    return render_template(
        "stations/of_session.html",
        meet=meet,
        part=meet.session(session_id),
        opened={station.apparatus_id: station for station in known if station.is_open},
        closed=[station for station in known if not station.is_open],
        orders=[line for line in orders if line.session.id == session_id],
        hours=HOURS,
        usual=stations.USUAL_HOURS,
        reach=desk().reach,
    )


@blueprint.post("/sessions/<int:session_id>/open")
def open_one(session_id: int) -> Response:
    """Open one apparatus of the session to phones."""
    apparatus_id = request.form.get("apparatus", default=0, type=number_of_a_row)
    hours = request.form.get("hours", default=stations.USUAL_HOURS, type=number_of_a_row)
    with work(writes=True) as session:
        opened = stations.open_station(session, code_key(), session_id, apparatus_id, hours)
    return redirect(url_for("stations.show", station_id=opened.id), 303)


@blueprint.get("/<int:station_id>")
def show(station_id: int) -> str:
    """One station: its codes, and the phones that are in."""
    return _page(station_id, "stations/show.html")


@blueprint.post("/<int:station_id>/let-in")
def let_in(station_id: int) -> tuple[str, int] | Response:
    """Let in the phone that shows the code which was typed."""
    form = ByHandForm()
    if form.accepted():
        with form.refusals(form.phone_code, *MISTYPED), work(writes=True) as session:
            by_hand.admit(session, code_key(), station_id, form.phone_code.data)
            flash("That phone may join now: its holder presses Join.")
            return redirect(url_for("stations.show", station_id=station_id), 303)
    return _page(station_id, "stations/show.html", form), form.status


@blueprint.get("/<int:station_id>/sheet")
def sheet(station_id: int) -> str:
    """The sheet to pin at the apparatus."""
    return _page(station_id, "stations/sheet.html")


@blueprint.post("/<int:station_id>/close")
def close(station_id: int) -> Response:
    """No phone of it confirms or sees anything any more."""
    with work(writes=True) as session:
        closed = stations.close(session, station_id)
    flash(f"The station at {closed.apparatus} is closed. Its codes let nobody in any more.")
    return redirect(url_for("stations.of_session", session_id=closed.session.id), 303)


@blueprint.post("/phones/<int:phone_id>/put-out")
def put_out(phone_id: int) -> Response:
    """Put one phone out; its holder can come in again while the station is open."""
    with work(writes=True) as session:
        station_id = stations.put_out(session, phone_id)
    flash("That phone is out.")
    return redirect(url_for("stations.show", station_id=station_id), 303)


def qr_path(symbol: Symbol) -> str:
    """The dark modules of a symbol as one path of SVG, a run of them at a time."""
    runs = []
    for y, row in enumerate(symbol.rows):
        x = 0
        while x < len(row):
            length = 0
            while x + length < len(row) and row[x + length]:
                length += 1
            if length:
                runs.append(f"M{x} {y}h{length}v1h-{length}z")
            x += length or 1
    return "".join(runs)


def _page(station_id: int, template: str, form: ByHandForm | None = None) -> str:
    with work() as session:
        station = stations.station(session, station_id)
        orders = start_orders.at_station(session, station.session.id, station.apparatus_id)
        codes = stations.codes(session, code_key(), station_id) if station.is_open else None
    symbol, too_long = _symbol(codes.url) if codes else (None, "")
    return render_template(
        template,
        form=form or ByHandForm(MultiDict()),
        station=station,
        orders=orders,
        codes=codes,
        side=symbol.side_modules if symbol else 0,
        path=qr_path(symbol) if symbol else "",
        too_long=too_long,
        typed_at=f"{desk().reach.url.rstrip('/')}/station",
        reach=desk().reach,
    )


def _symbol(url: str) -> tuple[Symbol | None, str]:
    """The symbol, or why the address has none; the typed code lets phones in all the same."""
    try:
        return qr_symbol(url), ""
    except SettingsDeskError as refusal:
        return None, told(refusal)
