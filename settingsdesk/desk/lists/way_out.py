"""The squad as a spreadsheet, as it goes out."""

from collections.abc import Collection, Generator, Sequence
from contextlib import closing
from itertools import groupby
from operator import attrgetter

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.domain.hall.models import ApparatusModel
from settingsdesk.domain.settings.purposes import USUAL, Purpose
from settingsdesk.sheets.squad_writing import SquadRow
from settingsdesk.store import settings as kept_settings
from settingsdesk.store.settings import ValueOfSquad
from settingsdesk.store.work import ClubSession


def export_rows(session: ClubSession, namesakes: Collection[int] = ()) -> Generator[SquadRow]:
    """The squad as rows of the same columns: one for each athlete, model and purpose.

    ``namesakes`` are those whose number has to be written, since others have the same name.
    They are read one after the other by one statement, so that a squad of any size takes little
    memory.
    """
    models = desk_models.all_models(session)
    with closing(kept_settings.values_of_squad(session)) as rows:
        for athlete_id, of_athlete in groupby(rows, key=attrgetter("athlete_id")):
            values = list(of_athlete)
            by_model: dict[tuple[int, str], list[ValueOfSquad]] = {}
            for value in values:
                by_model.setdefault((value.model_id, value.purpose), []).append(value)
            of_models = [
                (version.model, by_model[version.id, purpose])
                for version in models
                for purpose in Purpose
                if (version.id, purpose) in by_model
            ]
            number = str(athlete_id) if athlete_id in namesakes else ""
            for model, wanted in of_models:
                yield row_of(wanted, model, number)
            if not of_models:
                yield row_of(values, None, number)


def row_of(
    values: Sequence[ValueOfSquad], model: ApparatusModel | None, number_here: str = ""
) -> SquadRow:
    """What one athlete wants on a model, or the athlete alone."""
    of_all = values[0]
    names = {axis.key: axis.name for axis in model.kind.axes} if model else {}
    by_name = {names[value.axis]: value for value in values if model}
    return SquadRow(
        family_name=of_all.family_name,
        given_name=of_all.given_name,
        printed_name=of_all.printed_name,
        group=of_all.group_name,
        model=model.name if model else "",
        wanted_mm={name: value.wanted_mm for name, value in by_name.items()},
        accepts_mm={name: value.accepts_mm for name, value in by_name.items()},
        reason=of_all.reason if model else "",
        crew_note=of_all.crew_note or "",
        purpose="" if not model or of_all.purpose == USUAL else of_all.purpose,
        number_here=number_here,
    )
