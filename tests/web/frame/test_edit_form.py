"""Two people at one form: for every form that changes something kept, through the route table."""

import json
from dataclasses import dataclass, field

import pytest
from flask import Flask

from settingsdesk.desk.meets import entries, meets
from settingsdesk.desk.rotations import rotation
from tests.conftest import DemoClub
from tests.desk.sample_meet import SmallMeet
from tests.made_once import made_once
from tests.web.pages import Page, Reader

MANY = list[str]


@dataclass(frozen=True)
class Edit:
    """A form that is filled from what is kept; ``{}`` in the address takes the entry's number.

    Both people type in ``field``; only the one who saves first types in ``other``.
    """

    address: str
    button: str
    named: str
    first: str | MANY
    later: str | MANY
    other: tuple[str, str] | None = None
    beside: dict[str, str] = field(default_factory=dict)
    """What has to be typed anyway."""


EDITS: dict[str, Edit] = {
    "athletes.keeping": Edit(
        "/athletes/keeping", "Save", "guests_days", "14", "15", ("left_days", "365")
    ),
    "athletes.season": Edit("/athletes/season", "Save", "season_days", "90", "91"),
    "people.club": Edit("/people/club", "Save it", "name", "Hill", "Harbour"),
    "cards.language": Edit("/cards/language", "Save", "language", ["de"], ["fr"]),
    "apparatus.edit": Edit(
        "/apparatus/1/edit", "Save the apparatus", "name", "Bars A", "Bars B", ("mat", "20.0")
    ),
    "apparatus.mats": Edit("/apparatus/1/mats", "Save the mats of the day", "by", "10.0", "5.0"),
    "athletes.crew_note": Edit(
        "/athletes/1/settings/1/crew-note", "Save the note", "words", "Board left", "Board right"
    ),
    "athletes.edit": Edit(
        "/athletes/1/edit",
        "Save the changes",
        "start_number",
        "41",
        "42",
        ("group_name", "Girls 9"),
    ),
    "athletes.marks": Edit(
        "/athletes/marks?on=apparatus-1",
        "Save the marks",
        "spread_1",
        "176.0",
        "177.0",
        ("spread_2", "168.0"),
    ),
    "check_lists.edit": Edit(
        "/check-lists/uneven_bars/before_use",
        "Save the list",
        "locks",
        "Red lever down",
        "Blue lever down",
        ("closures", "Both closed"),
    ),
    "entries.edit": Edit(
        "/meets/1/entries/{guest}",
        "Save the entry",
        "start_number",
        "71",
        "72",
        ("family_name", "Osterkampf"),
    ),
    "entries.edit: of the squad": Edit(
        "/meets/1/entries/{own}", "Save the entry", "start_number", "71", "72", ("division", "A")
    ),
    "meets.edit": Edit("/meets/1/edit", "Save the meet", "hall", "North", "South", ("note", "Ice")),
    "meets.edit_session": Edit(
        "/meets/1/sessions/1", "Save the session", "name", "First", "Second", ("begins_at", "9")
    ),
    "meets.put_apparatus": Edit(
        "/meets/1/apparatus?piece={piece}", "Add it to the meet", "rules", "{rule}", "{other_rule}"
    ),
    "models.read_at": Edit(
        "/apparatus/models/1/marks/low_rail",
        "Save where it is read",
        "words",
        "At the sleeve",
        "At the collar",
    ),
    "parts.count": Edit("/parts/1", "Save the count", "minimum", "4", "5", beside={"counted": "3"}),
    "rotations.change_list": Edit(
        "/rotations/1/list", "Change the list and re-plan", "who", ["1", "2"], ["1", "3"]
    ),
    "rotations.wishes": Edit(
        "/rotations/1/wishes", "Plan with these wishes", "turn_s", "41", "42", ("rest_turns", "1")
    ),
    "start_orders.edit": Edit(
        "/start-orders/{order}/edit",
        "Save the start order",
        "order",
        "13\n12\n11",
        "12\n11\n13",
        ("hands", "4"),
    ),
    "usual_deviations.edit": Edit(
        "/apparatus/usual-deviations/",
        "Save these",
        "uneven_bars_low_rail",
        "2.0",
        "3.0",
        ("uneven_bars_spread", "1.5"),
    ),
}
"""Every form that changes something kept, by endpoint."""

ADDS = "it adds something; what is there stays as it is"
ASKS = "it asks, and answers or leads on; nothing kept is changed"
RECORDS = "a record is added, which takes nothing back"
FOLDED = "it names the last event its page has seen, and an older one is refused"
VERSION = "it carries the version it was made from, and an older one is asked about"
YES = "a yes or no; no field is filled from what is kept"

NOT_FILLED: dict[str, str] = {
    "accounts.password": YES,
    "accounts.sign_in": ASKS,
    "apparatus.new": ADDS,
    "apparatus.stands": RECORDS,
    "apparatus.take_away": YES,
    "apparatus_sheets.index": ASKS,
    "apparatus_sheets.send": ADDS,
    "athletes.come_back": YES,
    "athletes.erase": "it carries what was told to go, and anything else is asked anew",
    "athletes.leave": YES,
    "athletes.new": ADDS,
    "athletes.setting": VERSION,
    "athletes.squad_mates": ADDS,
    "athletes.take_away": YES,
    "athletes.unite": "it carries what was seen of both, and anything else is asked anew",
    "bars.add": ADDS,
    "bars.end": FOLDED,
    "bars.found": FOLDED,
    "bars.late": FOLDED,
    "bars.newcomer": ADDS,
    "calibration.take": RECORDS,
    "card.tell": ADDS,
    "cards.choose": ADDS,
    "cards.index": ASKS,
    "cards.withdraw": YES,
    "checks.begin": RECORDS,
    "coach_lists.send": ADDS,
    "entries.new": ADDS,
    "entries.take_away": YES,
    "entries.squad": ADDS,
    "entries.tell_raise": RECORDS,
    "findings.new": ADDS,
    "findings.show": RECORDS,
    "meet_cards.choose": ADDS,
    "meet_cards.outdated": YES,
    "invitation.take": ADDS,
    "meets.new": ADDS,
    "meets.new_session": ADDS,
    "meets.take_away": YES,
    "meets.take_session_away": YES,
    "meets.numbers": "it gives out numbers by a rule; none is typed",
    "models.add": ADDS,
    "models.change": VERSION,
    "models.new": ASKS,
    "models.take_away": YES,
    "people.index": ADDS,
    "away.choose": ASKS,
    "away.join": ASKS,
    "guest_clubs.index": ADDS,
    "clubs.index": ADDS,
    "parts.index": ADDS,
    "parts.take_away": YES,
    "remarks.answer": RECORDS,
    "rotations.new": ADDS,
    "rotations.take_away": YES,
    "several.add": ADDS,
    "sheets.index": ADDS,
    "start_orders.draw": ADDS,
    "starters.take": ADDS,
    "start_orders.new": ADDS,
    "start_orders.take_away": YES,
    "station.enter": ADDS,
    "station.end": FOLDED,
    "station.fault": FOLDED,
    "second_factor.ask": ASKS,
    "second_factor.own": "a code shows that the phone is there; no field is filled",
    "station.marks": FOLDED,
    "station.waiting": ADDS,
}
"""Every other form that has a page, and why nobody's work is lost by it."""


class TwoPeople:
    """Two browsers before one form."""

    def __init__(self, pages: Reader, edit: Edit, numbers: dict[str, str]) -> None:
        self.pages, self.edit = pages, edit
        self.address = edit.address.format(**numbers)
        self.first = self._typed(edit.first, numbers)
        self.later = self._typed(edit.later, numbers)

    def opened(self) -> Page:
        return self.pages.get(self.address)

    def saved(self, page: Page, *, other: bool = True) -> Page:
        """What the first one types, saved on that page."""
        beside = dict([self.edit.other]) if other and self.edit.other else {}
        return self.sent(page, **{self.edit.named: self.first}, **beside)

    def sent(self, page: Page, **typed: object) -> Page:
        return page.send(self.edit.button, **{**self.edit.beside, **typed})

    def meant(self, page: Page) -> str | MANY:
        """What is kept, by the page; of an order its numbers."""
        return self.meant_by(self.stands(page))

    def meant_by(self, value: str | MANY) -> str | MANY:
        if self.edit.named == "order":
            return [line.partition(" ")[0] for line in str(value).splitlines()]
        return value

    def stands(self, page: Page) -> str | MANY:
        """What stands in the field in which both have typed."""
        name = self.edit.named
        if isinstance(self.edit.first, list):
            return [
                box.get("value", "")
                for box in page.tree.iter("input")
                if box.get("name") == name and "checked" in box.attrib
            ]
        return page.value(name).replace("\r\n", "\n")

    @staticmethod
    def _typed(value: str | MANY, numbers: dict[str, str]) -> str | MANY:
        return value if isinstance(value, list) else value.format(**numbers)


@pytest.fixture
def two(
    request: pytest.FixtureRequest, demo_pages: Reader, demo_club: DemoClub, held: SmallMeet
) -> TwoPeople:
    def entered() -> dict[str, str]:
        return _entered(demo_pages, demo_club, held)

    return TwoPeople(demo_pages, request.param, made_once(demo_club.store, "one entered", entered))


def _entered(pages: Reader, club: DemoClub, held: SmallMeet) -> dict[str, str]:
    """What the addresses and the answers of ``EDITS`` are filled in with."""
    with club.work(writes=True) as session:
        [own] = entries.enter_squad(session, held.meet_id, [1])
        rules = [
            f"{placed.rule_book}, {placed.level or 'all levels'}"
            for placed in meets.meet(session, held.meet_id).pieces
        ]
        assert rotation.rotation(session, 1).listed
    offered = pages.get(f"/meets/1/apparatus?piece={held.apparatus_id}")
    known = [option.get("value", "") for option in offered.tree.iter("option")]
    rule, other_rule = [one for one in known if ", " in one and one not in rules][:2]
    return {
        "guest": str(held.guests[0].entry_id),
        "order": str(held.rotation_id),
        "other_rule": other_rule,
        "own": str(own.entry_id),
        "piece": str(held.apparatus_id),
        "rule": rule,
    }


def of_every_form(test):
    return pytest.mark.parametrize("two", EDITS.values(), ids=EDITS, indirect=True)(test)


class TestTheLaterToSave:
    @of_every_form
    def test_is_told_loses_nothing_and_keeps_it_with_a_second_press(self, two: TwoPeople) -> None:
        """The one beside whom a colleague was quicker."""
        page, other = two.opened(), two.edit.other
        assert two.saved(two.opened()).status == 200

        late = two.sent(page, **{two.edit.named: two.later})
        assert late.status == 400
        assert "nothing of yours is lost" in late.mistakes[0]
        told = " ".join(late.mistakes[1:])
        assert "is stored now" in told
        assert "Yours is" in told
        assert two.stands(late) == two.later
        assert two.meant(two.opened()) == two.meant_by(two.first), "it was kept already"

        assert two.sent(late).status == 200
        after = two.opened()
        assert two.meant(after) == two.meant_by(two.later)
        if other:
            assert after.value(other[0]) == other[1], "what only the first changed was lost"

    @of_every_form
    def test_is_not_troubled_where_both_made_the_same_of_it(self, two: TwoPeople) -> None:
        page = two.opened()
        two.saved(two.opened(), other=False)

        assert two.saved(page, other=False).status == 200

    @of_every_form
    def test_of_a_page_from_before_an_upgrade_is_told_so_once(self, two: TwoPeople) -> None:
        """It has no field that says what it was filled from."""
        page = two.opened()
        two.saved(two.opened())

        late = two.sent(page, as_read="", **{two.edit.named: two.later})
        assert late.status == 400
        assert "before settingsdesk was updated" in late.mistakes[0]
        assert two.stands(late) == two.later

        assert two.sent(late).status == 200

    @pytest.mark.parametrize(
        "spoilt", ["[", "[" * 100_000, "7", json.dumps({"name": 7})], ids=lambda it: it[:9]
    )
    @pytest.mark.parametrize("two", [EDITS["athletes.edit"]], indirect=True)
    def test_of_a_form_spoilt_on_the_way_is_told_the_same(
        self, two: TwoPeople, spoilt: str
    ) -> None:
        page = two.opened()
        two.saved(two.opened())

        late = two.sent(page, as_read=spoilt, start_number="9")
        assert "before settingsdesk was updated" in late.mistakes[0]
        assert two.sent(late).status == 200

    @pytest.mark.parametrize("two", [EDITS["athletes.edit"]], indirect=True)
    def test_sees_what_was_left_alone_as_it_is_now(self, two: TwoPeople) -> None:
        """And both values of a field in which both have typed."""
        page = two.opened()
        group = page.value("group_name")
        two.saved(two.opened())

        late = two.sent(page, start_number="42")
        assert late.value("group_name") == "Girls 9"
        assert late.links_of_mistakes == {
            late.mistakes[0]: "",
            f"Group: “Girls 9” is stored now, and was “{group}” when you opened the form. You left"
            " it alone, so it is taken over here": "#group_name",
            "Start number: “41” is stored now, and was nothing when you opened the form. Yours is"
            " “42”": "#start_number",
        }

    @pytest.mark.parametrize("two", [EDITS["athletes.edit"]], indirect=True)
    def test_is_told_also_where_another_slip_was_put_right_in_between(self, two: TwoPeople) -> None:
        page = two.opened()
        two.saved(two.opened())

        slip = two.sent(page, start_number="42", family_name="x" * 90)
        assert slip.status == 400
        late = two.sent(slip, family_name="Other")
        assert "nothing of yours is lost" in late.mistakes[0]


class TestTheRouteTable:
    def test_every_form_is_guarded_or_says_why_it_need_not_be(self, demo_app: Flask) -> None:
        """A new form that changes something kept fails here until two people were tried on it."""
        forms = {
            rule.endpoint
            for rule in demo_app.url_map.iter_rules()
            if {"GET", "POST"} <= (rule.methods or set())
        }
        guarded = {name.partition(":")[0] for name in EDITS}

        assert guarded | NOT_FILLED.keys() == forms
        assert not guarded & NOT_FILLED.keys()
