"""The square aid: from a tape or a plumb line, how far off, which way, and where to take up."""

from flask import Blueprint, render_template, request, url_for

from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import compared_length, compared_most
from settingsdesk.domain.changeover.changeover import MAKES_IT_WORSE
from settingsdesk.domain.hall.square import (
    TAPING_MM,
    Footprint,
    Lean,
    NotAFootprint,
    lean_of_footprint,
    lean_of_upright,
)
from settingsdesk.domain.hall.square_view import drawn_times, square_view
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.fields import LengthField, RadiosField, number_of_a_row
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.security import own_address
from settingsdesk.web.frame.work import coach, work

blueprint = Blueprint("square", __name__, url_prefix="/apparatus/<int:apparatus_id>/square")
blueprint.context_processor(shown.for_templates)


class DiagonalsForm(DeskForm):
    """The feet, taped."""

    along = LengthField("Between the feet, along the rails")
    across = LengthField("Between the feet, across the rails")
    to_back = LengthField("First diagonal")
    to_front = LengthField("Second diagonal")
    limit = LengthField("Limit for the diagonals' difference", optional=True)

    def taped(self) -> Footprint:
        """What the tape says; ``NothingTaped`` or ``NotAFootprint``."""
        lengths = (self.along.data, self.across.data, self.to_back.data, self.to_front.data)
        return Footprint(*(length or 0 for length in lengths))

    def lean(self, piece: Piece) -> Lean:
        """What that means; refused as there."""
        kind, ends = piece.model.kind, piece.ends_called
        return lean_of_footprint(self.taped(), kind, self.limit.data, ends)


class PlumbForm(DeskForm):
    """One upright, by a plumb line."""

    offset = LengthField("Offset of the plumb line")
    height = LengthField("Height over which it hangs")
    to_side = RadiosField(
        "The upright leans to", read_choice=int, ask="Choose to which side the upright leans"
    )
    limit = LengthField("Limit for the offset", optional=True)

    def lean(self, piece: Piece) -> Lean:
        """What the plumb line says; ``NothingTaped``."""
        return lean_of_upright(
            self.offset.data or 0,
            self.height.data or 0,
            self.to_side.data == 1,
            piece.model.kind,
            self.limit.data,
        )


@blueprint.get("/")
def ask(apparatus_id: int) -> tuple[str, int]:
    """Ask for either, and say what it means; then back to where one came from, such as a run."""
    own_page = url_for("apparatus.show", apparatus_id=apparatus_id)
    then = own_address(request.args.get("then"), otherwise=own_page)
    with work() as session:
        piece = desk_apparatus.piece(session, apparatus_id)
    kind, asked = piece.model.kind, request.args.get("do")
    diagonals = DiagonalsForm(request.args if asked == "diagonals" else None, prefix="feet-")
    plumb = PlumbForm(request.args if asked == "plumb" else None, prefix="plumb-")
    plumb.to_side.offer(
        (number, f"The {shown.loud(side)}") for number, side in enumerate(kind.sides)
    )
    lean = None
    form = {"diagonals": diagonals, "plumb": plumb}.get(asked or "")
    if isinstance(form, DiagonalsForm | PlumbForm) and form.validate():
        with form.refusals(form[_FIRST[type(form)]], SettingsDeskError):
            try:
                lean = form.lean(piece)
            except NotAFootprint as refusal:
                with form.refusals(diagonals[_DOUBTED[refusal.doubted]]):
                    raise
    drawn = None
    if lean and form is diagonals:
        drawn = square_view(diagonals.taped(), kind, piece.ends_called)
    page = render_template(
        "hall/square/ask.html",
        piece=piece,
        diagonals=diagonals,
        plumb=plumb,
        lean=lean,
        asked=asked,
        then=then if then != own_page else "",
        run_id=request.args.get("run", type=number_of_a_row),
        seen=request.args.get("seen", type=number_of_a_row),
        taping_mm=TAPING_MM,
        makes_it_worse=MAKES_IT_WORSE,
        compared=lambda mm: compared_length(mm, coach().length_unit),
        limit=lambda mm: compared_most(mm, coach().length_unit),
        drawn_times=drawn_times(diagonals.taped()) if lean and form is diagonals else 1,
        picture=drawn,
    )
    return page, form.status if form else 200


_DOUBTED = {"first": "to_back", "second": "to_front", "sides": "along"}
_FIRST: dict[type[DeskForm], str] = {DiagonalsForm: "to_back", PlumbForm: "height"}
