"""Who may ask for what: one decision for every endpoint there is.

An endpoint without one is for owners only until somebody decides (``tests/web/frame/test_who_may``
fails till then). A role may do all that the ones below it may.
"""

from collections.abc import Mapping
from functools import lru_cache

from flask import current_app, g, request
from werkzeug.exceptions import HTTPException
from werkzeug.routing import Map, MapAdapter, Rule

from settingsdesk.desk.accounts.roles import Role
from settingsdesk.desk.accounts.sign_ins import SignedIn
from settingsdesk.domain.base.errors import SettingsDeskError

CAPABILITY_ENDPOINTS = frozenset(
    {"card.file", "card.kept", "card.show", "card.tell", "invitation.take", "station.scanned"}
)
"""Pages whose address is the key: it must not be passed on."""

LINK_ENDPOINTS = CAPABILITY_ENDPOINTS | {"away.join"}
"""Those, and what a link opens only to who is signed in."""

OPEN_ENDPOINTS = CAPABILITY_ENDPOINTS | {
    "accounts.sign_in",
    "second_factor.ask",
    "bars.worker",
    "health.page",
    "help.page",
    "privacy.page",
    "static",
    "station.enter",
    "station.waiting",
    "station.worker",
}
"""What a stranger may ask for."""

STATION_ENDPOINTS = frozenset(
    {
        "station.now",
        "station.latest",
        "station.mark_photo",
        "station.begin",
        "station.confirm",
        "station.end",
        "station.fault",
        "station.marks",
        "station.card",
        "station.scan",
        "station.leave",
    }
)
"""What a phone may ask for that was let in to a station; a coach who was not, may not."""

HELPER_ENDPOINTS = frozenset(
    {
        *("accounts.password", "accounts.sign_out", "accounts.end_device", "today.index"),
        "accounts.club",
        *("invitation.join", "second_factor.own"),
        # A run, at the bars; whom to add to it stands in the list of athletes.
        *("rotations.show", "start_orders.show", "apparatus.stands", "square.ask"),
        *("bars.begin", "bars.show", "bars.latest", "bars.confirm", "bars.found", "bars.lean"),
        *("bars.late", "bars.order", "bars.end", "bars.take_up"),
        *("checks.index", "checks.of_apparatus", "checks.begin", "checks.show"),
        *("findings.index", "findings.new", "findings.show", "findings.photo"),
        *("stations.of_session", "stations.show", "stations.sheet", "stations.open_one"),
        *("stations.close", "stations.put_out", "stations.let_in"),
    }
)
"""What every role may ask for."""

COACH_ENDPOINTS = frozenset(
    {
        *(
            "apparatus.edit",
            "apparatus.index",
            "apparatus.mats",
            "apparatus.new",
            "apparatus.rule_books",
        ),
        *("apparatus.show", "apparatus.take_away"),
        *("apparatus_sheets.file", "apparatus_sheets.index", "apparatus_sheets.keep"),
        *("apparatus_sheets.look", "apparatus_sheets.send", "apparatus_sheets.show"),
        *("athletes.choose", "athletes.come_back", "athletes.confirm", "athletes.edit"),
        *("athletes.crew_note", "athletes.grown", "athletes.history"),
        *("athletes.index", "athletes.leave", "athletes.left", "athletes.marks"),
        "athletes.new",
        *("athletes.same_person", "athletes.season", "athletes.setting", "athletes.show"),
        *("athletes.squad", "athletes.squad_mates"),
        *("athletes.take_away", "athletes.unite"),
        *("bars.add", "bars.looked", "bars.newcomer", "bars.record"),
        *("away.join", "away.show", "away.choose", "away.send", "away.scratch"),
        *("guest_clubs.index", "guest_clubs.end"),
        *("calibration.set_aside", "calibration.show", "calibration.take"),
        *(
            "cards.choose",
            "cards.index",
            "cards.language",
            "cards.of_athlete",
            "cards.pdf",
            "cards.ready",
        ),
        *("cards.withdraw", "check_lists.edit", "check_lists.index", "check_lists.shipped"),
        *("checks.paper", "coach_lists.correct", "coach_lists.discard", "coach_lists.keep"),
        *("coach_lists.look", "coach_lists.send", "convert.index"),
        *("crew_sheets.pdf", "crew_sheets.print_one", "crew_sheets.print_session"),
        *("crew_sheets.session_pdf", "crew_sheets.session_xlsx", "crew_sheets.show"),
        *("crew_sheets.some_pdf", "crew_sheets.xlsx"),
        *("entries.again", "entries.edit", "entries.index", "entries.new", "entries.settle"),
        *("entries.settle_line", "entries.squad", "entries.take_away", "entries.tell_raise"),
        *("entries.withdraw", "findings.report", "findings.report_paper"),
        *("meet_cards.anew", "meet_cards.changed", "meet_cards.choose", "meet_cards.outdated"),
        "meet_cards.pdf",
        *("meets.edit", "meets.edit_session", "meets.index", "meets.new", "meets.new_session"),
        *("meets.numbers", "meets.put_apparatus", "meets.show", "meets.take_apparatus_away"),
        *("meets.take_away", "meets.take_session_away"),
        *("models.add", "models.change", "models.index", "models.new", "models.read_at"),
        *("models.show", "models.take_away", "parts.count", "parts.index", "parts.take_away"),
        *("record.index", "remarks.answer", "remarks.index"),
        *("rotations.change_list", "rotations.choose_apparatus", "rotations.go_on"),
        *("rotations.index", "rotations.keep_places", "rotations.move", "rotations.new"),
        *("rotations.once_more", "rotations.paper"),
        *("rotations.order_anew", "rotations.take_away", "rotations.take_off"),
        *("rotations.wishes", "searching.look", "searching.stop", "searching.weigh"),
        "several.add",
        *("sheets.index", "sheets.squad_as_csv", "sheets.squad_as_xlsx"),
        *("sheets.template_as_csv", "sheets.template_as_xlsx"),
        *("start_orders.draw", "start_orders.edit", "start_orders.move", "start_orders.new"),
        *("start_orders.take_away", "start_orders.take_off_withdrawn"),
        *("starters.index", "starters.take", "times.accept", "times.show"),
        "usual_deviations.edit",
    }
)
"""What coaches and owners may ask for."""

OWNER_ENDPOINTS = frozenset(
    {
        *("people.index", "people.show", "people.role", "people.disable", "people.enable"),
        *("people.second_factor", "people.need_second_factor", "people.club"),
        *("people.new_password", "people.end_device", "people.take_back"),
        *("athletes.erase", "athletes.keeping", "athletes.kept", "athletes.kept_file"),
    }
)
"""What only owners may ask for."""

INSTALLATION_ENDPOINTS = frozenset(
    {
        *("clubs.index", "clubs.invite", "clubs.close", "clubs.open_again"),
        *("clubs.give", "clubs.take"),
    }
)
"""What owners of the installation may ask for, whatever they are in a club; nobody else may."""

CHANGES_NEED: Mapping[str, Role] = {"findings.show": Role.COACH}
"""Where looking is for more roles than pressing: whether a fault is over, a coach says."""

_LEAST = {
    **dict.fromkeys(HELPER_ENDPOINTS, Role.HELPER),
    **dict.fromkeys(COACH_ENDPOINTS, Role.COACH),
    **dict.fromkeys(OWNER_ENDPOINTS, Role.OWNER),
}

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


class RoleMayNot(SettingsDeskError):
    """Asked for by somebody whose role does not open it (a page answers 403)."""

    def __init__(self, role: Role, needed: Role, club_name: str):
        self.role, self.needed, self.club_name = role, needed, club_name

    def __str__(self) -> str:
        whose = "An owner" if self.needed is Role.OWNER else "A coach or an owner"
        return (
            f"{whose} of {self.club_name} may do this. You are signed in as its"
            f" {self.role}: ask one of them to do it with you"
        )


class InstallationOwnersOnly(SettingsDeskError):
    """Asked for by somebody who does not own the installation (a page answers 403)."""

    def __init__(self, role: Role, club_name: str):
        self.role, self.club_name = role, club_name

    def __str__(self) -> str:
        return (
            f"This is about other clubs than {self.club_name} too. You are signed in as its"
            f" {self.role}: ask an owner of the installation, who can add and close clubs"
        )


def least_role(endpoint: str, method: str) -> Role:
    """The least role that may ask for it."""
    least = _LEAST.get(endpoint, Role.OWNER)
    if method in SAFE_METHODS:
        return least
    return CHANGES_NEED.get(endpoint, least)


def must_be_allowed(who: SignedIn, endpoint: str, method: str) -> None:
    """Raise ``RoleMayNot`` where the role of who asks does not open it.

    ``InstallationOwnersOnly`` where no role of a club does.
    """
    if endpoint in INSTALLATION_ENDPOINTS:
        if not who.owns_installation:
            raise InstallationOwnersOnly(who.role, who.club_name)
        return
    needed = least_role(endpoint, method)
    if not who.role.covers(needed):
        raise RoleMayNot(who.role, needed, who.club_name)


def may(endpoint: str, method: str = "GET") -> bool:
    """Whether who reads the page may ask for that; for templates, which show no other link."""
    who: SignedIn | None = g.get("coach")
    open_to_all = endpoint in OPEN_ENDPOINTS or endpoint in STATION_ENDPOINTS
    if open_to_all or who is None:
        return True
    if endpoint in INSTALLATION_ENDPOINTS:
        return who.owns_installation
    return who.role.covers(least_role(endpoint, method))


def opens(address: str, method: str = "GET") -> bool:
    """The same for an address of ours, as the links of the macros have it."""
    who: SignedIn | None = g.get("coach")
    if who is None:
        return True
    path = address.partition("?")[0].partition("#")[0].removeprefix(request.script_root)
    if _first_part(path) not in _parts_with_closed(
        current_app.url_map, who.role, owns=who.owns_installation
    ):
        return True
    if "addresses" not in g:
        g.addresses = current_app.url_map.bind("")
    adapter: MapAdapter = g.addresses
    try:
        endpoint, _ = adapter.match(path, method)
    except HTTPException:
        return True
    return may(endpoint, method)


@lru_cache(maxsize=32)
def _parts_with_closed(routes: Map, role: Role, *, owns: bool) -> frozenset[str]:
    """The first parts of addresses below which something is closed to who is that.

    A coach's page has many links, and nearly none of them begins like an owner's page: to find
    out where each leads would take a fifth of its time.
    """

    def is_open(rule: Rule) -> bool:
        if rule.endpoint in OPEN_ENDPOINTS | STATION_ENDPOINTS:
            return True
        if rule.endpoint in INSTALLATION_ENDPOINTS:
            return owns
        return all(role.covers(least_role(rule.endpoint, method)) for method in rule.methods or ())

    return frozenset(_first_part(rule.rule) for rule in routes.iter_rules() if not is_open(rule))


def _first_part(path: str) -> str:
    return path.removeprefix("/").partition("/")[0]
