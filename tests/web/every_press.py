"""One press of every kind that the application takes, each with what a person would type.

``PRESSES`` has them by endpoint; what stands behind a colon tells two ways to one endpoint apart.
"""

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

from pyotp import TOTP

from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.accounts.accounts import new_account
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.domain.checks.checks import Occasion
from settingsdesk.store.clubs import Club
from settingsdesk.web.frame.work import OURS
from tests.conftest import DEMO_PASSWORD
from tests.desk.checks.pictures import jpeg
from tests.desk.rotations.test_searches import HARD
from tests.desk.sample_meet import DAY
from tests.web.everybody import Hall, starting
from tests.web.pages import Page, Reader, words
from tests.web.runs.at_the_bars import READ_OFF

WISHES = "Plan with these wishes"
TAPED = {
    f"{what}_{number}": value
    for number, (mark, length) in enumerate(
        [("1", "230.4"), ("3", "240.4"), ("5", "250.4"), ("7", "260.4")], start=1
    )
    for what, value in (("mark", mark), ("length", length))
}
BEAM = {
    "name": "Beam Z",
    "beam_first": "80",
    "beam_pitch": "5",
    "beam_count": "10",
    "beam_label": "1",
    "beam_may_differ": "2",
}
LEANS = "&do=plumb&plumb-offset=1&plumb-height=200&plumb-to_side=0&plumb-limit="
SHEET = "Family name;Given name;Group;Model\nAuermann;Lotte;Girls 2;\n"
LIST = (
    "Anmeldung, alle Angaben in cm\n\n"
    "Name;Vorname;Holm unten;Holm oben;Weite\n"
    "Auermann;Lotte;165;245;170\n"
    "Brinkhus;Maite;160-165;240;168\n"
)

Press = Callable[[Hall], Page]


def _pressed(page: Page, address: str) -> Page:
    """The page after the one button that goes there, of several that have the same words."""
    [form] = [one for one in page.tree.iter("form") if one.get("action") == address]
    [button] = form.iter("button")
    return page.send(words(button))


def _joined(hall: Hall) -> Page:
    """Somebody of a club that was just made joins with the account they have."""
    store = hall.desk.club.store
    with store.installation(writes=True) as session:
        club = Club(name="Hillside")
        session.add(club)
        session.flush()
        other = new_account(session, club.id, "hild", "Hild", "-", Role.OWNER)
        known = sign_ins.begin(session, other)
    reader = hall.stranger
    with reader.client.session_transaction() as cookie:
        cookie["stamp"] = known.stamp
    return reader.get(f"/invitation/{hall.link}").send("Join as hild")


def _given(hall: Hall) -> Page:
    return hall.coach.get("/clubs/").send("Let them add and close clubs too", sign_in_name="bo")


def _chosen(hall: Hall) -> Page:
    page = hall.coach.get(f"/meets/away/{hall.meet_away_id}").follow("Choose who comes")
    return page.send("Check, then send", who=[str(hall.other_id)])


def _waits(phone: Reader) -> str:
    """The code that a phone shows which waits to be let in."""
    [code] = [words(one) for one in phone.get("/station/waiting").having("class", "typed")]
    return code


def _let_in_by_hand(hall: Hall) -> Page:
    phone = hall.stranger
    station = hall.coach.get(f"/stations/{hall.station_id}")
    station.send("Let this phone in", phone_code=_waits(phone))
    return phone.get("/station/waiting").send("Join", name="Nell")


def _with_second_factor(hall: Hall, name: str = "runa") -> tuple[str, Page]:
    """Somebody sets one up: what their phone works the codes out from, and the recovery codes."""
    page = hall.stranger.sign_in(name, DEMO_PASSWORD).reader.get("/account/second-factor")
    [typed] = [words(one) for one in page.having("class", "link")]
    secret = typed.replace(" ", "")
    return secret, page.send("Turn it on", code=TOTP(secret).now())


def _asked_for_a_code(hall: Hall) -> Page:
    _, page = _with_second_factor(hall)
    recovery = next(words(one) for one in page.tree.iter("code"))
    asked = hall.stranger.sign_in("runa", DEMO_PASSWORD)
    return asked.send("Sign in", code=recovery)


def _taken_off(hall: Hall) -> Page:
    _with_second_factor(hall, "bo")
    return hall.coach.get(f"/people/{hall.membership_id}").send("Turn off the second factor")


def _asked_away(page: Page) -> Page:
    """The page after something that was typed by mistake on that one is taken away."""
    edit = page.reader.get(page.address.partition("?")[0] + "/edit")
    return edit.follow("Typed by mistake: delete").send("Yes, delete it")


def _entered(hall: Hall) -> Page:
    """The page of an entry that nothing hangs on yet."""
    page = hall.coach.get("/meets/1/entries/new").send(
        "Enter the athlete", given_name="Liv", family_name="Ravn", from_club="Wexlow Turners"
    )
    found = page.reader.get("/meets/1/entries?q=Ravn")
    return found.follow(next(link for link in found.links if link.startswith("Ravn, Liv")))


def _sent(content: str, name: str) -> tuple[BytesIO, str]:
    return BytesIO(content.encode()), name


def list_of_meet(hall: Hall) -> Page:
    return hall.coach.get(f"/meets/{hall.meet_id}/lists").send(
        "Check the list", file=_sent(LIST, "list.csv"), sent_by="Nordlicht TV", accepts="1"
    )


def list_of_squad(hall: Hall) -> Page:
    page = hall.coach.get("/sheets/").send("Check the sheet", file=_sent(LIST, "list.csv"))
    return page.send("Apply these answers", model_uneven_bars="Hall frame A")


def sheet(hall: Hall) -> Page:
    return hall.coach.get("/sheets/").send("Check the sheet", file=_sent(SHEET, "squad.csv"))


def apparatus_sheet(hall: Hall) -> Page:
    coach = hall.coach
    made = coach.client.get("/apparatus-sheets/sheet.json?hall=Main&apparatus=1&apparatus=2").text
    return coach.get("/apparatus-sheets/in").send(
        "Check the sheet", file=_sent(made.replace('"Bars by', '"Guest bars by'), "sheet.json")
    )


def _at_the_bars(hall: Hall) -> Page:
    return hall.coach.get(f"/bars/{hall.run_id}")


def late(hall: Hall, page: Page | None = None, said: str = "Not here") -> Page:
    """Of the first for whom it can be said that they are not here, or have come."""
    page = page or _at_the_bars(hall)
    return page.follow(next(link for link in page.links if link.startswith(said)))


def _stopped(hall: Hall) -> Page:
    """The station's page, after somebody there said that something is wrong."""
    return hall.phone.get("/station/fault").send(
        "Stop the work and tell the coach", words="The lock at the window end does not hold"
    )


def _at_the_station(hall: Hall) -> Page:
    return hall.phone.get("/station/now")


def _first_ids(page: Page, how_many: int) -> list[str]:
    offered = [box.get("value", "") for box in page.tree.iter("input") if box.get("name") == "who"]
    return offered[:how_many]


def _all_in_order(hall: Hall) -> Page:
    form = hall.coach.get(f"/checks/apparatus/{hall.apparatus_id}/{Occasion.BEFORE_USE.value}")
    names = {box.get("name", "") for box in form.tree.iter("input")}
    answered = {name: "in_order" for name in names if name.startswith("answer-")}
    return form.send("Finish the check", **answered)


def searching(hall: Hall) -> str:
    """The page of a search that goes on for a while."""
    searches, club_id = hall.desk.app.extensions[OURS].searches, hall.desk.club.account.club_id
    key = searches.begin(club_id, "rotation 1", HARD, lambda _: None)
    return f"/rotations/1/search/{key}"


def _not_weighed(hall: Hall) -> Page:
    """A rotation in whose order nobody has worked out what the wishes cost."""
    with hall.desk.club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        asked = replace(view.asked, first=view.listed[1].id)
        desk_rotation.change_wishes(session, view, asked)
        desk_rotation.order_anew(session, 1)
    return hall.coach.get("/rotations/1")


def _somebody_gone(hall: Hall) -> Page:
    coach = hall.coach
    starting(coach.get(f"/athletes/{hall.athlete_id}/leave"), "Yes, take")
    return coach.get("/rotations/1")


def _cards_out_of_date(hall: Hall) -> Page:
    hall.coach.get("/meets/1/cards").send("Make the cards")
    hall.coach.get(f"/meets/1/entries/{hall.entry_id}").send("Save the entry", start_number="77")
    return hall.coach.get("/meets/1/cards")


def _papers_out_of_date(hall: Hall) -> Page:
    _cards_out_of_date(hall)
    hall.coach.get(f"/crew-sheets/{hall.order_id}").send("Print (PDF)")
    hall.coach.get(f"/meets/1/entries/{hall.entry_id}").send("Scratch the entry")
    return hall.coach.get("/meets/1/cards/outdated")


def _with_new_settings(hall: Hall) -> Page:
    """The meet's rotation at the bars, where somebody who is still to come has a new setting."""
    coach = hall.coach
    member = hall.desk.held.guests[2].member.id
    form = coach.get(f"/athletes/{member}/settings/1")
    form.send("Check, then save", low_rail_length="165").send("Save this setting")
    return coach.get(f"/bars/{hall.meet_run_id}")


PRESSES: dict[str, Press] = {
    "accounts.password": lambda hall: hall.coach.get("/account").send(
        "Change the password",
        present=DEMO_PASSWORD,
        new="nine kettles under dry elms",
    ),
    "accounts.club": lambda hall: (
        _joined(hall).reader.get("/account").send("Hillside instead of Quillmoor Gymnastics Club")
    ),
    "accounts.end_device": lambda hall: _pressed(
        hall.coach.get("/account"), f"/account/devices/{hall.own_device}/end"
    ),
    "accounts.sign_in": lambda hall: hall.stranger.sign_in("runa", DEMO_PASSWORD),
    "accounts.sign_out": lambda hall: hall.coach.get("/account").send("Sign out"),
    "apparatus.edit": lambda hall: hall.coach.get("/apparatus/1/edit").send(
        "Save the apparatus", name="Bars A", mat="10"
    ),
    "apparatus.mats": lambda hall: hall.coach.get("/apparatus/1/mats").send(
        "Save the mats of the day", by="10"
    ),
    "apparatus.new": lambda hall: hall.coach.get("/apparatus/new").send(
        "Add the apparatus", name="Bars Z", model="1", mat="0"
    ),
    "apparatus.stands": lambda hall: hall.coach.get("/apparatus/1/stands").send(
        "Record these marks", **READ_OFF
    ),
    "apparatus.take_away": lambda hall: (
        hall.coach.get("/apparatus/new")
        .send("Add the apparatus", name="Bars Z", model="1", mat="0")
        .follow("Added by mistake: delete")
        .send("Yes, delete it")
    ),
    "apparatus_sheets.index": lambda hall: hall.coach.get("/apparatus-sheets/").send(
        "Make the sheet", hall="Main", pieces=["1", "2"]
    ),
    "apparatus_sheets.keep": lambda hall: apparatus_sheet(hall).send("Add all of it"),
    "apparatus_sheets.send": apparatus_sheet,
    "athletes.come_back": lambda hall: starting(
        hall.coach.get(f"/athletes/{hall.gone_id}/come-back"), "Yes, put"
    ),
    "athletes.confirm": lambda hall: hall.coach.get("/athletes/1").send(
        "It is still right for Hall frame A"
    ),
    "athletes.crew_note": lambda hall: hall.coach.get("/athletes/1/settings/1/crew-note").send(
        "Save the note", words="Board on the left"
    ),
    "athletes.edit": lambda hall: hall.coach.get("/athletes/1/edit").send(
        "Save the changes", printed_name="Jagna"
    ),
    "athletes.erase": lambda hall: hall.coach.get("/athletes/2/erase").send("Yes, erase it all"),
    "athletes.grown": lambda hall: hall.coach.get("/athletes/1").send("Has grown"),
    "athletes.keeping": lambda hall: hall.coach.get("/athletes/keeping").send(
        "Save", guests_days="14", left_days="365"
    ),
    "cards.language": lambda hall: hall.coach.get("/cards/language").send("Save", language="de"),
    "athletes.leave": lambda hall: starting(hall.coach.get("/athletes/2/leave"), "Yes, take"),
    "athletes.marks": lambda hall: hall.coach.get("/athletes/marks?on=apparatus-1").send(
        "Save the marks", spread_1="176.0"
    ),
    "athletes.new": lambda hall: hall.coach.get("/athletes/new").send(
        "Add the athlete", given_name="Ana", family_name="Neu"
    ),
    "athletes.season": lambda hall: hall.coach.get("/athletes/season").send(
        "Save", season_days="90"
    ),
    "athletes.squad_mates": lambda hall: (
        hall.coach.get("/athletes/13/settings/2/squad-mates")
        .send("Find", group="")
        .send("Begin with this setting of Fjeldheim, Tuva")
    ),
    "athletes.setting": lambda hall: (
        hall.coach.get("/athletes/1/settings/1")
        .send("Check, then save", low_rail_length="175")
        .send("Save this setting")
    ),
    "athletes.setting: shown": lambda hall: hall.coach.get("/athletes/1/settings/1").send(
        "Check, then save", low_rail_length="175"
    ),
    "athletes.take_away": lambda hall: (
        hall.coach.get("/athletes/new")
        .send("Add the athlete", given_name="Ana", family_name="Neu")
        .follow("Typed by mistake: delete")
        .send("Yes, delete it")
    ),
    "athletes.unite": lambda hall: (
        hall.coach.get("/athletes/new")
        .send("Add the athlete", given_name="Ana", family_name="Neu")
        .reader.get("/athletes/1/same-person?q=Neu")
        .follow("Neu, Ana")
        .send("Yes, make them one", given_name="stays", family_name="stays")
    ),
    "bars.add": lambda hall: (
        lambda form: form.send("Add them and re-plan the rest", who=_first_ids(form, 1))
    )(hall.coach.get(f"/bars/{hall.run_id}/add")),
    "bars.confirm: all steps": lambda hall: _at_the_bars(hall).send("All steps are done"),
    "bars.begin": lambda hall: hall.coach.get("/rotations/2").send("Take it to the bars"),
    "bars.confirm: check": lambda hall: (
        _at_the_bars(hall)
        .send("All steps are done")
        .send("Checked by a second person", checker="Signe Moe")
    ),
    "bars.end": lambda hall: hall.coach.get(f"/bars/{hall.run_id}/end").send("End the run"),
    "bars.found": lambda hall: hall.coach.get(f"/bars/{hall.run_id}/found").send(
        "Re-plan the rest from these marks", **READ_OFF
    ),
    "bars.confirm: hands": lambda hall: _at_the_bars(hall).send("Go on with two people"),
    "bars.confirm: new marks": lambda hall: _with_new_settings(hall).send("Take the new marks"),
    "bars.late: here": lambda hall: starting(
        late(hall, starting(late(hall), "Go on without"), "Is here now"), "Re-plan the rest with"
    ),
    "bars.late: later": lambda hall: starting(late(hall), "Put "),
    "bars.late: without": lambda hall: starting(late(hall), "Re-plan the rest without"),
    "bars.lean": lambda hall: hall.coach.get(
        _at_the_bars(hall).links["Is the frame square?"] + LEANS
    ).send("Tension the LOW-rail side first"),
    "bars.newcomer": lambda hall: (
        lambda form: form.send(
            "Add at the end of the order",
            given_name="Nora",
            mate=form.having("name", "mate")[0][-1].get("value"),
        )
    )(hall.coach.get(f"/bars/{hall.run_id}/newcomer")),
    "bars.order": lambda hall: _at_the_bars(hall).send(
        "Re-plan the rest from what stands there now"
    ),
    "bars.confirm: over": lambda hall: (
        _at_the_bars(hall).send("All steps are done").send("Checked alone").send("The turn is over")
    ),
    "bars.confirm: repeat": lambda hall: (
        _at_the_bars(hall)
        .send("All steps are done")
        .send("Checked alone")
        .send("Same athlete again")
    ),
    "bars.confirm: step": lambda hall: starting(_at_the_bars(hall), "Done"),
    "bars.confirm: take back": lambda hall: starting(_at_the_bars(hall), "Undo “"),
    "bars.looked": lambda hall: (
        _stopped(hall) and hall.coach.get(f"/bars/{hall.meet_run_id}")
    ).send("I have looked: go on"),
    "bars.take_up": lambda hall: starting(
        hall.coach.get(f"/bars/{hall.run_id}/end").send("End the run"), "Take it up again"
    ),
    "calibration.set_aside": lambda hall: hall.coach.get(
        f"/apparatus/{hall.calibrated_id}/calibrations/{hall.calibration_id}"
    ).send("Set this calibration aside"),
    "calibration.take": lambda hall: (
        hall.coach.get(f"/apparatus/1/calibrations/take/{hall.axis}")
        .send("Work it out", **TAPED)
        .send("Use this scale")
    ),
    "card.tell": lambda hall: hall.stranger.get(f"/C/{hall.code}/remark").send(
        "Tell the coach", said="The high rail felt low"
    ),
    "cards.choose": lambda hall: hall.coach.get("/cards/1?rotation=1").send(
        "Make the cards", who=["1", "2"]
    ),
    "cards.index": lambda hall: hall.coach.get("/cards/").send(
        "Find the card", code=hall.short_code
    ),
    "cards.withdraw": lambda hall: hall.coach.get(f"/cards/withdraw/{hall.card_id}").send(
        "Cancel the card"
    ),
    "check_lists.edit": lambda hall: hall.coach.get("/check-lists/uneven_bars/before_use").send(
        "Save the list", locks="Red lever down"
    ),
    "check_lists.shipped": lambda hall: (
        hall.coach.get("/check-lists/uneven_bars/before_use")
        .send("Save the list", locks="Red lever down")
        .reader.get("/check-lists/uneven_bars/before_use")
        .send("Use the shipped list again")
    ),
    "checks.begin": _all_in_order,
    "coach_lists.correct": lambda hall: list_of_meet(hall).send("Apply these answers"),
    "coach_lists.correct: squad": list_of_squad,
    "coach_lists.discard": lambda hall: list_of_meet(hall).send("Cancel this list"),
    "coach_lists.discard: squad": lambda hall: list_of_squad(hall).send("Cancel this list"),
    "coach_lists.keep": lambda hall: list_of_meet(hall).send("Enter these athletes"),
    "coach_lists.keep: ours": lambda hall: sheet(hall).send("Save all of it"),
    "coach_lists.keep: squad": lambda hall: list_of_squad(hall).send("Add these athletes"),
    "coach_lists.send": list_of_meet,
    "entries.again": lambda hall: (
        hall.coach.get(f"/meets/1/entries/{hall.entry_id}")
        .send("Scratch the entry")
        .send("Enter again")
    ),
    "entries.edit": lambda hall: hall.coach.get(f"/meets/1/entries/{hall.entry_id}").send(
        "Save the entry", number="77"
    ),
    "entries.new": lambda hall: hall.coach.get("/meets/1/entries/new").send(
        "Enter the athlete", given_name="Liv", family_name="Ravn", from_club="Wexlow Turners"
    ),
    "entries.settle_line": lambda hall: starting(
        hall.coach.get("/meets/1/entries/settle"), "Settled"
    ),
    "entries.squad": lambda hall: hall.coach.get("/meets/1/entries/squad").send(
        "Enter them", who=["1", "2"]
    ),
    "crew_sheets.print_one": lambda hall: hall.coach.get(f"/crew-sheets/{hall.order_id}").send(
        "Print (PDF)"
    ),
    "crew_sheets.print_session": lambda hall: starting(
        hall.coach.get("/meets/1"), "Crew sheets (PDF)"
    ),
    "entries.take_away": lambda hall: (
        _entered(hall).follow("Typed by mistake: delete").send("Yes, delete it")
    ),
    "entries.tell_raise": lambda hall: hall.coach.get(
        f"/meets/1/entries/{hall.entry_id}/raise"
    ).send("Record it", apparatus="1", step="asked", raise_mm="5", told_by="her coach"),
    "entries.withdraw": lambda hall: hall.coach.get(f"/meets/1/entries/{hall.entry_id}").send(
        "Scratch the entry"
    ),
    "findings.new": lambda hall: hall.coach.get("/findings/apparatus/1/new").send(
        "Report the fault", words="Rail split", withdraws="yes"
    ),
    "findings.show": lambda hall: hall.coach.get(f"/findings/{hall.finding_id}").send(
        "Record the step", step="reported", remark="By telephone"
    ),
    "meet_cards.anew": lambda hall: hall.coach.get(f"/meets/1/entries/{hall.entry_id}").send(
        "Print this athlete's cards"
    ),
    "meet_cards.changed": lambda hall: _cards_out_of_date(hall).send("Print those that changed"),
    "meet_cards.choose": lambda hall: hall.coach.get("/meets/1/cards").send("Make the cards"),
    "meet_cards.outdated": lambda hall: _papers_out_of_date(hall).send(
        "Print new ones of all these"
    ),
    "meets.edit": lambda hall: hall.coach.get("/meets/1/edit").send("Save the meet", hall="Other"),
    "meets.edit_session": lambda hall: hall.coach.get("/meets/1/sessions/1").send(
        "Save the session", name="Seniors"
    ),
    "meets.new": lambda hall: hall.coach.get("/meets/new").send(
        "Add the meet", name="Cup", begins_on="2026-12-05", ends_on="2026-12-06"
    ),
    "meets.new_session": lambda hall: hall.coach.get("/meets/1/sessions/new").send(
        "Add the session", held_on="2026-12-05"
    ),
    "meets.take_away": lambda hall: _asked_away(
        hall.coach.get("/meets/new").send(
            "Add the meet", name="Cup", begins_on="2026-12-05", ends_on="2026-12-06"
        )
    ),
    "meets.take_session_away": lambda hall: (
        hall.coach.get("/meets/1/sessions/new")
        .send("Add the session", held_on="2026-12-05", name="Twice")
        .follow("Change Session 2: Twice")
        .follow("Typed by mistake: delete")
        .send("Yes, delete it")
    ),
    "meets.numbers": lambda hall: hall.coach.get("/meets/1/numbers").send(
        "Give them out", how="list", first="201", anew="y"
    ),
    "meets.put_apparatus": lambda hall: hall.coach.get("/meets/1/apparatus").send(
        "Add it to the meet", piece="2"
    ),
    "meets.take_apparatus_away": lambda hall: (
        hall.coach.get("/meets/1/apparatus")
        .send("Add it to the meet", piece="2")
        .reader.get("/meets/1/apparatus?piece=2")
        .send("Not at this meet (Bars by the door)")
    ),
    "models.add": lambda hall: hall.coach.get("/apparatus/models/new/balance_beam").send(
        "Save the model", **BEAM
    ),
    "models.change": lambda hall: hall.coach.get("/apparatus/models/1/change").send(
        "Save the model", low_rail_first="150.5", reason="read again"
    ),
    "usual_deviations.edit": lambda hall: hall.coach.get("/apparatus/usual-deviations/").send(
        "Save these", uneven_bars_low_rail="1"
    ),
    "models.new": lambda hall: hall.coach.get("/apparatus/models/new").send(
        "Go on", kind="balance_beam"
    ),
    "models.read_at": lambda hall: hall.coach.get("/apparatus/models/1/marks/high_rail").send(
        "Save where it is read", words="At the collar", photo=(BytesIO(jpeg()), "m.jpg")
    ),
    "models.take_away": lambda hall: (
        hall.coach.get("/apparatus/models/new/balance_beam")
        .send("Save the model", **BEAM)
        .follow("Typed by mistake: delete")
        .send("Yes, delete it")
    ),
    "parts.count": lambda hall: hall.coach.get("/parts/1").send("Save the count", counted="2"),
    "invitation.join": lambda hall: _joined(hall),
    "invitation.take": lambda hall: hall.stranger.get(f"/invitation/{hall.link}").send(
        "Save and sign in", sign_in_name="cy", new="nine kettles under dry elms"
    ),
    "guest_clubs.index": lambda hall: hall.coach.get(f"/meets/{hall.meet_id}/guests/").send(
        "Make the link", entered_as="Lakeside"
    ),
    "guest_clubs.end": lambda hall: hall.coach.get(f"/meets/{hall.meet_id}/guests/").send(
        "Cancel the link of Riverside"
    ),
    "away.join": lambda hall: hall.coach.get(f"/guest/{hall.guest_link}").send(
        "Accept for Quillmoor Gymnastics Club"
    ),
    "away.choose": lambda hall: _chosen(hall),
    "away.send": lambda hall: _chosen(hall).send("Send the entries"),
    "away.scratch": lambda hall: _pressed(
        hall.coach.get(f"/meets/away/{hall.meet_away_id}"),
        f"/meets/away/{hall.meet_away_id}/scratch/{hall.athlete_id}",
    ),
    "clubs.index": lambda hall: hall.coach.get("/clubs/").send(
        "Add the club", name="Lakeside", unit="cm", first="invited", owner_name="Ann Reed"
    ),
    "clubs.invite": lambda hall: hall.coach.get("/clubs/").send("Make another link for Riverside"),
    "clubs.close": lambda hall: hall.coach.get("/clubs/").send("Close club Riverside"),
    "clubs.open_again": lambda hall: (
        hall.coach.get("/clubs/").send("Close club Riverside").send("Open again club Riverside")
    ),
    "clubs.give": lambda hall: _given(hall),
    "clubs.take": lambda hall: _given(hall).send("Remove an owner of the installation: bo"),
    "second_factor.own": lambda hall: _with_second_factor(hall)[1],
    "second_factor.ask": lambda hall: _asked_for_a_code(hall),
    "people.second_factor": lambda hall: _taken_off(hall),
    "people.need_second_factor": lambda hall: hall.coach.get("/people/").send(
        "Require it for everybody"
    ),
    "people.index": lambda hall: hall.coach.get("/people/").send(
        "Make the link", shown_name="Dag Ferro", role="helper"
    ),
    "people.club": lambda hall: hall.coach.get("/people/club").send(
        "Save it", name="Harbour and Hill", unit="in"
    ),
    "people.role": lambda hall: hall.coach.get(f"/people/{hall.membership_id}").send(
        "Make Bo Larch a coach"
    ),
    "people.disable": lambda hall: hall.coach.get(f"/people/{hall.membership_id}").send(
        "Disable Bo Larch"
    ),
    "people.enable": lambda hall: (
        hall.coach.get(f"/people/{hall.membership_id}")
        .send("Disable Bo Larch")
        .send("Let Bo Larch sign in again")
    ),
    "people.new_password": lambda hall: hall.coach.get(f"/people/{hall.membership_id}").send(
        "Make a link for a new password"
    ),
    "people.end_device": lambda hall: _pressed(
        hall.coach.get(f"/people/{hall.membership_id}"), f"/people/devices/{hall.sign_in_id}/end"
    ),
    "people.take_back": lambda hall: hall.coach.get("/people/").send("Cancel the link of Cy Moor"),
    "parts.take_away": lambda hall: (
        hall.coach.get("/parts/1").follow("On the list by mistake: delete").send("Yes, delete it")
    ),
    "parts.index": lambda hall: hall.coach.get("/parts/").send("Add the part", name="Spare pin"),
    "remarks.answer": lambda hall: hall.coach.get(f"/remarks/{hall.remark_id}").send(
        "Answer", words="Lowered by one"
    ),
    "rotations.change_list": lambda hall: hall.coach.get("/rotations/1/list").send(
        "Change the list and re-plan", who=["1", "2", "3"]
    ),
    "rotations.go_on": lambda hall: hall.coach.get("/rotations/1").send(
        "Re-plan the rest", over="5"
    ),
    "rotations.keep_places": lambda hall: hall.coach.get("/rotations/1").send(
        "Keep the ticked places and re-plan the others", kept=["1-1"]
    ),
    "rotations.move": lambda hall: starting(hall.coach.get("/rotations/1"), "Up for"),
    "rotations.new": lambda hall: hall.coach.get("/rotations/new/1").send(
        "Plan the rotation", who=["1", "2", "3"]
    ),
    "rotations.once_more": lambda hall: starting(hall.coach.get("/rotations/1"), "Once more today"),
    "rotations.order_anew": lambda hall: (
        hall.coach.get("/apparatus/1/stands")
        .send("Record these marks", **READ_OFF)
        .reader.get("/rotations/1")
        .send("Re-plan it")
    ),
    "rotations.take_away": lambda hall: (
        hall.coach.get("/rotations/new/1")
        .send("Plan the rotation", who=["1", "2", "3"])
        .follow("Made by mistake: delete")
        .send("Yes, delete it")
    ),
    "rotations.take_off": lambda hall: _somebody_gone(hall).send("Take off the list and re-plan"),
    "rotations.wishes": lambda hall: hall.coach.get("/rotations/1/wishes").send(
        WISHES, before0_one="2", before0_other="1"
    ),
    "searching.weigh": lambda hall: _not_weighed(hall).send("Work out what each wish costs"),
    "searching.stop": lambda hall: starting(hall.coach.get(searching(hall)), "Stop"),
    "several.add": lambda hall: hall.coach.get("/athletes/several/1").send(
        "Add these athletes", given0="Ana", low_rail0="3", high_rail0="4", spread0="150"
    ),
    "sheets.index": sheet,
    "starters.take": lambda hall: hall.coach.get("/apparatus/models/starters/rings").send(
        "Take it", piece_name="Rings Z"
    ),
    "start_orders.draw": lambda hall: hall.coach.get("/start-orders/sessions/1/draw").send(
        "Draw it now", number="2", apparatus="1", hands="2"
    ),
    "start_orders.edit": lambda hall: hall.coach.get(f"/start-orders/{hall.order_id}/edit").send(
        "Save the start order", order="13\n12\n11"
    ),
    "start_orders.move": lambda hall: starting(
        hall.coach.get(f"/start-orders/{hall.order_id}"), "Up for"
    ),
    "start_orders.new": lambda hall: hall.coach.get("/start-orders/sessions/1/new").send(
        "Set the start order", number="2", apparatus="1", hands="2", order="13\n11"
    ),
    "start_orders.take_away": lambda hall: hall.coach.get(
        f"/start-orders/{hall.order_id}/away"
    ).send("Delete it"),
    "start_orders.take_off_withdrawn": lambda hall: (
        hall.coach.get(f"/meets/1/entries/{hall.entry_id}")
        .send("Scratch the entry")
        .reader.get(f"/start-orders/{hall.order_id}")
        .send("Take scratched athletes off the order")
    ),
    "station.begin": lambda hall: hall.phone.get("/station/now").send(
        "Begin rotation 1", of_day=str(DAY)
    ),
    "station.card": lambda hall: _at_the_station(hall).send("Check card", card=hall.meet_card),
    "station.card: elsewhere": lambda hall: _at_the_station(hall).send(
        "Check card", card="11-1700-2500-1650-32"
    ),
    "station.confirm": lambda hall: _at_the_station(hall).send("All steps are done"),
    "station.end": lambda hall: hall.phone.get(f"/station/end/{hall.meet_run_id}").send(
        "End the rotation"
    ),
    "station.enter": lambda hall: hall.stranger.get(f"/S/{hall.station_code}").send(
        "Join", name="Ana"
    ),
    "station.fault": lambda hall: _stopped(hall),
    "station.leave": lambda hall: _at_the_station(hall).send("Leave the station"),
    "station.marks": lambda hall: hall.phone.get("/station/marks").send(
        "Save present marks", **READ_OFF
    ),
    "station.waiting": lambda hall: _let_in_by_hand(hall),
    "stations.let_in": lambda hall: hall.coach.get(f"/stations/{hall.station_id}").send(
        "Let this phone in", phone_code=_waits(hall.stranger)
    ),
    "stations.close": lambda hall: hall.coach.get("/stations/1").send("Close the station now"),
    "stations.open_one": lambda hall: (
        hall.coach.get("/stations/1")
        .send("Close the station now")
        .send("Open the station at Bars by the window", hours="4")
    ),
    "stations.put_out": lambda hall: hall.coach.get("/stations/1").send("Remove Ivo"),
    "times.accept": lambda hall: hall.coach.get("/apparatus/models/1/times").send(
        "Use the fitted times"
    ),
}
