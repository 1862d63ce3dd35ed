"""Crew sheets of a meet: one rotation on a page, on paper, or as a spreadsheet."""

from collections.abc import Sequence

from flask import Blueprint, make_response, render_template, request
from werkzeug.wrappers import Response

from settingsdesk.cards.crew_sheet import crew_sheets_pdf
from settingsdesk.cards.languages import printed_in
from settingsdesk.desk.clock import local_date
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets, printed_papers
from settingsdesk.desk.meet_day.crew_sheets import CrewSheet
from settingsdesk.desk.rotations import order_paper
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.changeover.crew import CREWS
from settingsdesk.sheets.writing import xlsx_bytes
from settingsdesk.web.frame.fields import number_of_a_row
from settingsdesk.web.frame.shown import for_templates
from settingsdesk.web.frame.work import coach, work
from settingsdesk.words.languages import NAMES

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

blueprint = Blueprint("crew_sheets", __name__, url_prefix="/crew-sheets")
blueprint.context_processor(for_templates)


@blueprint.get("/<int:rotation_id>")
def show(rotation_id: int) -> str:
    """One rotation of a meet for the crew at its apparatus, for the hands that are asked for."""
    hands = _hands()
    with work() as session:
        sheet = crew_sheets.crew_sheet(session, rotation_id, hands)
        printed_holds = printed_papers.still_holds(session, sheet)
    paper = printed_in(coach().paper_language)
    return render_template(
        "meet_day/crew_sheets/show.html",
        sheet=sheet,
        printed_holds=printed_holds,
        asked_hands=hands,
        crews=CREWS,
        hands_in_words=order_paper.HANDS,
        facts=crew_sheet_words.facts(sheet),
        sums=crew_sheet_words.sums(sheet),
        uncounted=crew_sheet_words.uncounted(sheet),
        version=crew_sheet_words.version(sheet),
        warning=crew_sheet_words.warning(sheet),
        paper=paper,
        paper_called=NAMES[paper.tag],
        told=lambda move: order_paper.in_words(move, sheet.unit),
        cautions=order_paper.cautions(sheet.piece.model),
        ask_first_note=order_paper.ASK_FIRST,
    )


@blueprint.get("/<int:rotation_id>/sheet.pdf")
def pdf(rotation_id: int) -> Response:
    """The same on paper, with boxes to tick."""
    with work() as session:
        sheet = crew_sheets.crew_sheet(session, rotation_id, _hands())
    return _paper([sheet], _name_of(sheet))


@blueprint.post("/<int:rotation_id>/print")
def print_one(rotation_id: int) -> Response:
    """Print one sheet; what it says is kept, so that the desk knows when it is out of date."""
    hands = request.form.get("hands", type=number_of_a_row)
    with work(writes=True) as session:
        sheets = [crew_sheets.crew_sheet(session, rotation_id, hands)]
        printed_papers.note_printed(session, sheets)
    return _paper(sheets, _name_of(sheets[0]))


@blueprint.post("/sessions/<int:session_id>/print")
def print_session(session_id: int) -> Response:
    """Print every sheet of a session; what they say is kept."""
    with work(writes=True) as session:
        sheets = crew_sheets.of_session(session, session_id)
        printed_papers.note_printed(session, sheets)
    return _paper(sheets, _name_of_session(sheets))


@blueprint.get("/some.pdf")
def some_pdf() -> Response:
    """The sheets that are asked for by the numbers of their rotations, on paper."""
    with work() as session:
        sheets = crew_sheets.of_rotations(
            session, request.args.getlist("rotation", type=number_of_a_row)
        )
        return _paper([sheet for sheet in sheets if not sheet.is_over], "changed")


@blueprint.get("/<int:rotation_id>/sheet.xlsx")
def xlsx(rotation_id: int) -> Response:
    """The same as a spreadsheet."""
    with work() as session:
        sheet = crew_sheets.crew_sheet(session, rotation_id, _hands())
    return _workbook([sheet], _name_of(sheet))


@blueprint.get("/sessions/<int:session_id>/sheets.pdf")
def session_pdf(session_id: int) -> Response:
    """Every sheet of a session on paper."""
    with work() as session:
        sheets = crew_sheets.of_session(session, session_id, _hands())
    return _paper(sheets, _name_of_session(sheets))


@blueprint.get("/sessions/<int:session_id>/sheets.xlsx")
def session_xlsx(session_id: int) -> Response:
    """Every sheet of a session in one workbook."""
    with work() as session:
        sheets = crew_sheets.of_session(session, session_id, _hands())
    return _workbook(sheets, _name_of_session(sheets))


def _name_of(sheet: CrewSheet) -> str:
    """What the file of one sheet is called, by the numbers that people know it by."""
    return f"session-{sheet.line.session.number}-rotation-{sheet.line.number}"


def _name_of_session(sheets: Sequence[CrewSheet]) -> str:
    """The same of the sheets of a session."""
    if not sheets:
        raise crew_sheets.NoSheets
    return f"session-{sheets[0].line.session.number}"


def _hands() -> int | None:
    """For how many hands; None as it is planned for the rotation."""
    return request.args.get("hands", type=number_of_a_row)


def _paper(sheets: list[CrewSheet], name: str) -> Response:
    if not sheets:
        raise crew_sheets.NoSheets
    made_on = local_date(sheets[0].made_at)
    papers = [crew_sheet_words.paper(sheet) for sheet in sheets]
    title = Sentence("Crew sheets, %(meet)s", meet=sheets[0].meet.facts.name)
    return _file(
        crew_sheets_pdf(papers, title, made_on, printed_in(coach().paper_language)),
        "application/pdf",
        f"{name}.pdf",
    )


def _workbook(sheets: list[CrewSheet], name: str) -> Response:
    return _file(xlsx_bytes(crew_sheet_words.pages(sheets)), XLSX, f"{name}.xlsx")


def _file(content: bytes, media_type: str, name: str) -> Response:
    response = make_response(content)
    response.headers["Content-Type"] = media_type
    response.headers["Content-Disposition"] = f'attachment; filename="crew-sheet-{name}"'
    return response
