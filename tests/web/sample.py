"""A room that exists only in tests: every macro, every field, and every way to go wrong."""

import errno
from pathlib import Path

from flask import Blueprint, abort, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from settingsdesk.domain.base.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Line,
    Text,
    Triangle,
    Weight,
)
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.store.errors import (
    DatabaseDoesNotAnswer,
    DeskIsBusy,
    GivenUpForOthers,
    NotInThisClub,
)
from settingsdesk.web.frame.fields import (
    CarriedField,
    ChecksField,
    ChoiceField,
    CountField,
    DayField,
    LengthField,
    PaperField,
    ParagraphField,
    RadiosField,
    SoughtField,
    TickField,
    WordsField,
)
from settingsdesk.web.frame.forms import DeskForm

sample = Blueprint(
    "sample",
    __name__,
    url_prefix="/sample",
    template_folder=str(Path(__file__).parent / "templates"),
)


class RailStandsElsewhere(SettingsDeskError):
    """A refusal of the desk."""

    def __str__(self) -> str:
        return "The high rail stands at hole 6, not 7; read the mark again"


class SampleForm(DeskForm):
    """One field of every kind."""

    name = WordsField("Name", most=20, width="w-16")
    high = LengthField("High rail height")
    turns = CountField("Turns", least=1, most=9, unit="turns")
    held_on = DayField("Day")
    apparatus = ChoiceField("Apparatus", choices=[(1, "Bars 1"), (2, "Bars 2")], read_choice=int)
    crew = RadiosField("Crew", choices=[(1, "One"), (2, "Two"), (4, "Four")], read_choice=int)
    squad = ChecksField("Athletes", choices=[(7, "Alma R."), (8, "Bo L.")], read_choice=int)
    second = TickField("A second person has looked")
    remark = ParagraphField("Remark", optional=True)
    sheet = PaperField("Spreadsheet", accept=".xlsx,.csv", optional=True)
    version = CarriedField("Version", default="3")


class SearchForm(DeskForm):
    """What a list is searched by."""

    name = SoughtField("Name", width="w-16")


@sample.get("/")
def index() -> str:
    return render_template("sample/all.html", picture=end_view(), search=SearchForm(prefix="find-"))


@sample.route("/form", methods=["GET", "POST"])
def form() -> str | Response | tuple[str, int]:
    asked = SampleForm(data={"high": 2475})
    if asked.accepted():
        with asked.refusals(at=asked.high):
            if asked.name.data == "Refuse":
                raise RailStandsElsewhere
            flash(f"{asked.name.data} is saved with {asked.high.data} mm.")
            return redirect(url_for("sample.index"), 303)
    return render_template("sample/form.html", form=asked), asked.status


@sample.get("/step")
def step() -> str:
    return render_template("sample/step.html", picture=end_view())


@sample.get("/wrong/<kind>")
def wrong(kind: str) -> str:
    """Goes wrong in the way that is asked for."""
    if kind.isdecimal():
        abort(int(kind))
    raise {
        "refused": RailStandsElsewhere(),
        "absent": NotInThisClub("athlete", 12),
        "busy": DeskIsBusy(5),
        "given_up": GivenUpForOthers(),
        "away": DatabaseDoesNotAnswer("connection refused"),
        "broken": ZeroDivisionError("a secret detail"),
        "full": OSError(errno.ENOSPC, "No space left on device"),
    }[kind]


def end_view() -> Drawing:
    """Two rails from the end, with a dimension for each height and one between them."""
    low, high, floor = (700.0, 1700.0), (2100.0, 2500.0), 0.0
    shapes = [
        Line(-350, floor, 2950, floor, Weight.HEAVY),
        Box(-150, 0, 2700, 200, filled=True, ink=Ink.QUIET),
        Line(low[0], 0, *low, Weight.NORMAL),
        Line(high[0], 0, *high, Weight.NORMAL),
        Circle(*low, 60),
        Circle(*high, 60),
        Line(*low, *high, Weight.THIN, ink=Ink.ACCENT),
        Text(1350, 2180, "162.5 <inside>", angle_deg=30, ink=Ink.ACCENT, bold=True),
        Line(250, 0, 250, 1700, Weight.THIN, ink=Ink.ACCENT),
        Line(150, 1700, 600, 1700, Weight.THIN, dashed=True, ink=Ink.QUIET),
        Triangle(((250, 1700), (225, 1600), (275, 1600)), Ink.ACCENT),
        Triangle(((250, 0), (225, 100), (275, 100)), Ink.ACCENT),
        Text(210, 850, "170.0", angle_deg=90, ink=Ink.ACCENT),
        Text(2750, 1250, "hole 7 & 251.0", Anchor.MIDDLE, angle_deg=90, bold=True),
    ]
    return Drawing(
        left_mm=-400,
        bottom_mm=-100,
        width_mm=3400,
        height_mm=2900,
        letter_mm=130,
        shapes=tuple(shapes),
        in_words='The low rail stands at 170.0 cm, the high rail at 251.0 cm, "inside" 162.5 cm.',
    )
