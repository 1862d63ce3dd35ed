"""Sheets: the squad out as a spreadsheet, and in again, looked at before anything is kept."""

from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import closing
from itertools import chain
from typing import Protocol

from flask import (
    Blueprint,
    Response,
    redirect,
    render_template,
    stream_with_context,
    url_for,
)
from werkzeug.wrappers import Response as AnyResponse

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.guard import MOST_BYTES
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.squad_writing import (
    SquadRow,
    squad_csv,
    squad_csv_parts,
    squad_xlsx_parts,
    template_xlsx,
)
from settingsdesk.web.frame import shown
from settingsdesk.web.frame.fields import DeviationField, PaperField
from settingsdesk.web.frame.forms import DeskForm
from settingsdesk.web.frame.sent_in import upload_of, waiting
from settingsdesk.web.frame.work import work

Page = str | AnyResponse | tuple[str, int]

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv; charset=utf-8"

blueprint = Blueprint("sheets", __name__, url_prefix="/sheets")
blueprint.context_processor(shown.for_templates)


class UploadForm(DeskForm):
    """The sheet or list to look at."""

    file = PaperField(
        "Spreadsheet",
        accept=".xlsx,.csv,.tsv,.txt",
        ask="Choose the spreadsheet",
        description=f"A .xlsx or .csv file of up to {MOST_BYTES // 1_000_000} megabytes: an empty"
        " sheet from below filled in, or your own list, however it is laid out.",
    )
    accepts = DeviationField("Accepted deviation where your own list states none", optional=True)


@blueprint.route("/", methods=["GET", "POST"])
def index() -> Page:
    """The ways out, and the way in."""
    form = UploadForm()
    if form.accepted():
        with form.refusals(at=form.file):
            upload = upload_of(form.file.data)
            read_lists(upload.content, upload.file_name)
            key, accepts_mm = waiting().keep(upload), form.accepts.data or 0
            return redirect(url_for("coach_lists.look", key=key, accepts=accepts_mm), 303)
    known = bool(_models())
    return render_template("lists/sheets/index.html", form=form, models_known=known), form.status


@blueprint.get("/template.xlsx")
def template_as_xlsx() -> Response:
    """An empty sheet with its explanations."""
    models = _models()
    names = [model.name for model in models]
    return _paper(template_xlsx(_axes(models), names), XLSX, "squad-template.xlsx")


@blueprint.get("/template.csv")
def template_as_csv() -> Response:
    """An empty sheet: the headers alone."""
    return _paper(squad_csv([], _axes(_models())), CSV, "squad-template.csv")


@blueprint.get("/squad.xlsx")
def squad_as_xlsx() -> Response:
    """The squad as it is kept now, sent while it is still being read."""
    return _squad(squad_xlsx_parts, XLSX, "xlsx")


@blueprint.get("/squad.csv")
def squad_as_csv() -> Response:
    """The same as text."""
    return _squad(squad_csv_parts, CSV, "csv")


class Written(Protocol):
    """Rows as a file, part by part; what they are for, and who of one name, in a column or not."""

    def __call__(
        self,
        rows: Iterable[SquadRow],
        axes: Sequence[str],
        *,
        purposes: bool = False,
        numbers: bool = False,
    ) -> Iterator[bytes]: ...


def _squad(written: Written, mimetype: str, ending: str) -> Response:
    def parts() -> Generator[bytes]:
        with work() as session:
            namesakes = desk_athletes.of_one_name(session)
            purposes = desk_settings.any_beside(session)
            with closing(export_rows(session, namesakes)) as rows:
                axes = squad_columns().axes
                yield from written(rows, axes, purposes=purposes, numbers=bool(namesakes))

    sent = parts()
    first = next(sent)  # what is refused before any row has its page
    name = f"squad-{today().isoformat()}.{ending}"
    answer = _paper(stream_with_context(chain([first], sent)), mimetype, name)
    answer.call_on_close(sent.close)  # whoever hangs up lets go of the database too
    return answer


def _models() -> list[ApparatusModel]:
    with work() as session:
        return [version.model for version in desk_models.all_models(session)]


def _axes(models: list[ApparatusModel]) -> tuple[str, ...]:
    """The axes that an empty sheet has columns for: those of the models known here, else all."""
    known = {axis.kind.name for model in models for axis in model.axes}
    return tuple(axis for axis in squad_columns().axes if not known or axis in known)


def _paper(content: bytes | Iterable[bytes], mimetype: str, name: str) -> Response:
    return Response(
        content,
        content_type=mimetype,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
