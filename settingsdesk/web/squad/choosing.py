"""The part of a form in which athletes are chosen, out of a squad of any size.

It is sent to its own page to show other names; all that was typed and ticked comes along. So it is
where one leaves it to enter somebody's setting, and comes back.
"""

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import parse_qsl, urlencode

from flask import redirect, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response
from wtforms.form import BaseForm

from settingsdesk.desk.squad.athletes import AT_ONCE
from settingsdesk.desk.squad.choosing import MOST_AT_ONCE, Offer, Sought
from settingsdesk.desk.squad.names_apart import listed_apart
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.web.frame.fields import (
    UNSEEN,
    CarriedField,
    ChecksField,
    ChoiceField,
    SoughtField,
    number_carried,
)
from settingsdesk.web.frame.forms import DeskForm

ENTERS = "enter."
"""How the word of a button begins that leads to a setting; the athlete's number follows."""
NOT_CARRIED = ("csrf_token", "names", "seen")
"""What is of the page that was sent, and not of what was typed and ticked on it."""


def typed_before() -> "MultiDict[str, str] | None":
    """What stood in a form that was left to enter a setting; None where none was."""
    typed = request.args.get("typed")
    if request.method != "GET" or typed is None:
        return None
    return MultiDict(parse_qsl(typed, keep_blank_values=True))


def athletes_field() -> ChecksField:
    """The boxes of a choosing form, in the place among its fields where they stand."""
    return ChecksField("Athletes", read_choice=int, ask="Choose at least one athlete")


class GroupField(ChoiceField):
    """One training group, or all of them."""

    blank = "All groups"

    def process_formdata(self, valuelist: list[Any]) -> None:
        """What nobody can see is in no group's name, and no database has to be asked for it."""
        super().process_formdata([UNSEEN.sub("\ufffd", str(one)) for one in valuelist])

    def pre_validate(self, form: BaseForm) -> None:
        return

    def offer_groups(self, names: Sequence[str]) -> None:
        """Say which groups there are."""
        self.offer((name, name) for name in names)


class PurposeField(ChoiceField):
    """What the settings are for; the usual one where nothing is chosen."""

    blank = ""

    def __init__(self, words: str, **settings: Any) -> None:
        choices = [(purpose, purpose.capitalize()) for purpose in Purpose]
        super().__init__(words, choices=choices, read_choice=Purpose, default=USUAL, **settings)


class ChoosingForm(DeskForm):
    """Names looked for, and whoever is ticked.

    ``names`` is the button that asks for other names: "find", "more", or for other ticks: "all" to
    tick whoever is found, "none", and what else a page has; empty where the form was sent to be
    done with.
    """

    q = SoughtField("Name or start number", width="w-16")
    group = GroupField("Group")
    after = CarriedField("How many names come before")
    who: ChecksField

    @property
    def names(self) -> str:
        """Which other names are asked for."""
        return request.form.get("names", "")

    @property
    def seeks(self) -> bool:
        """Whether less than the whole squad is looked for."""
        return bool(self.q.data or self.group.data or self._before)

    def sought(self) -> Sought:
        """What is looked for, from the first name on or going on to the next ones."""
        goes_to = {"find": 0, "all": 0, "more": self._before + AT_ONCE}
        before = goes_to.get(self.names, self._before)
        self.after.data, self.after.raw_data = str(before), None
        most = MOST_AT_ONCE if self.names == "all" else AT_ONCE
        return Sought(self.q.data or "", self.group.data or "", most, before)

    def take(
        self, offer: Offer, *, with_groups: bool = False, why: Mapping[int, str] | None = None
    ) -> None:
        """Put those names on offer; where all who are found were to be ticked, tick them.

        ``with_groups`` where names of several groups stand beside each other; ``why`` says of some,
        by their numbers, why they are to be ticked.
        """
        self.group.offer_groups(offer.groups)
        named = listed_apart({member.id: member for member in offer.members}.values())
        groups = {
            member.id: f" ({member.person.group_name})"
            for member in offer.members
            if with_groups and member.person.group_name
        }
        reasons = {number: f": {words}" for number, words in (why or {}).items()}
        self.who.offer(
            [
                (number, named[number] + groups.get(number, "") + reasons.get(number, ""))
                for number in (member.id for member in offer.members)
            ]
        )
        if self.names == "all":
            self.who.data = [*(self.who.data or []), *(member.id for member in offer.found)]
        if self.names == "none":
            self.who.data = []

    def left_for_a_setting(self, model_id: int) -> Response | None:
        """The way to the setting whose button was pressed; None where none was.

        From there one comes back to the form as it stood, with that athlete ticked.
        """
        if not self.names.startswith(ENTERS):
            return None
        athlete_id = number_carried(self.names.removeprefix(ENTERS))
        fields = [one for one in request.form.items(multi=True) if one[0] not in NOT_CARRIED]
        typed = urlencode([*fields, (self.who.name, athlete_id)])
        asked = [one for one in request.args.items(multi=True) if one[0] != "typed"]
        back = f"{request.path}?{urlencode([*asked, ('typed', typed)])}"
        return redirect(
            url_for("athletes.setting", athlete_id=athlete_id, model_id=model_id, then=back), 303
        )

    @property
    def _before(self) -> int:
        return number_carried(self.after.data, 0)
