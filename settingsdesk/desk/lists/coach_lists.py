"""A coach's list: looked at as a whole, corrected where a person has to, then taken.

Nothing is kept before somebody has seen what it comes to. What is taken is what the preview took;
each cell that was queried stays a line for a person to settle.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from hashlib import sha256

from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.lists.answers import Answers, answered, cell_key, row_key
from settingsdesk.desk.lists.listed_people import (
    ListedPerson,
    ListedSetting,
    NamesUndecided,
    Taker,
    listed_people,
)
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.settings import NewSetting
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first, quoted
from settingsdesk.sheets.lists.preview import ListPreview, Mapped, Marks, PersonFound
from settingsdesk.sheets.lists.reading import layout_key, read_tables, tables_of
from settingsdesk.sheets.table import Table, place
from settingsdesk.store import list_mappings as kept_mappings
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession

MODELS = "models"
"""What was said of no column: for each kind of apparatus, which model the list means."""
CLUBS = "clubs"
"""What was said of no column: for each club's name, the name under which it is entered."""

UNIT_OF_ALL, DATUM_OF_ALL, MODEL_OF_ALL = "unit", "datum", "model"
"""The keys of answers for a whole list: a unit; "floor", or "mat:200" with the mat's millimetres; a
model's name."""
NO_ANSWERS = Answers()
LONGEST_GROUP = 40
MOST_CLUBS = 100  # so many names of one list are compared with those that are known
NOT_TICKED = "it is not ticked"
CLUB_OPEN = "nobody has said whether its club is one that has entered already"


@dataclass(frozen=True, slots=True)
class Look:
    """A list as it would be taken; ``mapped`` is what somebody said of its columns, then or now.

    ``people`` are those of the preview, in its order; ``models`` the kinds of the models that are
    known, by name. ``tables`` are the sheets as they came, ``answers`` what was typed since.
    ``clubs_alike`` are names of clubs, each with the one under which that club may be entered;
    ``not_listed`` whoever an earlier list of the club had and this one has not.
    """

    preview: ListPreview
    mapped: Mapped
    key: str
    sent_by: str
    people: tuple[ListedPerson, ...]
    models: Mapping[str, str]
    tables: tuple[Table, ...]
    answers: Answers
    clubs_alike: Mapping[str, str]
    not_listed: tuple[str, ...]

    @property
    def names_open(self) -> bool:
        """Whether somebody has to say which of two names comes first."""
        return any(one.name_open for one in self.people)

    @property
    def ready(self) -> bool:
        """Whether it can be taken as it is; lines with a reason against them are left out."""
        return bool(self.taken) and not self.names_open

    @property
    def kinds_unnamed(self) -> Sequence[str]:
        """The kinds of apparatus of which the list names no model, each once."""
        listed = (setting for one in self.people for setting in one.settings)
        unnamed = (setting.kind for setting in listed if setting.kind and not setting.is_named)
        return list(dict.fromkeys(unnamed))

    @property
    def is_model_open(self) -> bool:
        """Whether somebody has to say which model is meant."""
        listed = (setting for one in self.people for setting in one.settings)
        return any(one.kind and one.model is None and not one.is_named for one in listed)

    @property
    def taken(self) -> Sequence[ListedPerson]:
        """Whoever nothing speaks against."""
        return [one for one in self.people if not one.why_not]

    @property
    def changes(self) -> Sequence[ListedSetting]:
        """The settings that taking it would keep anew."""
        listed = (setting for one in self.taken for setting in one.settings)
        return [one for one in listed if one.setting is not None and not one.is_kept_already]

    @property
    def not_whole(self) -> Sequence[ListedSetting]:
        """The settings that are left out, of athletes who are not."""
        listed = (setting for one in self.taken for setting in one.settings)
        return [one for one in listed if one.setting is None]

    @property
    def is_whole(self) -> bool:
        """Whether taking it leaves nothing out."""
        return not (self.preview.queries or self.not_whole or len(self.taken) < len(self.people))

    @property
    def fingerprint(self) -> str:
        """The same as long as taking it would do the same."""
        told = [
            (one.person, one.club, one.start_number, one.group, one.known, one.settings)
            for one in self.taken
        ]
        return sha256(repr(told).encode()).hexdigest()


def look(
    session: ClubSession,
    taker: Taker,
    content: bytes,
    file_name: str,
    sent_by: str = "",
    accepts_mm: int = 0,
    answers: Answers = NO_ANSWERS,
) -> Look:
    """What taking a list would do, read as somebody corrected lists of its layout before.

    ``sent_by`` is the club where the list names none, and empty for our own; ``accepts_mm`` the
    deviation that is accepted where neither the list nor the setting before states one;
    ``answers`` are those to this one file. Raises ``FileRefused``.
    """
    versions = desk_models.all_models(session)
    models = {version.model.name: version.model.kind.key for version in versions}
    tables = tables_of(content, file_name)
    marks = _marks_of(versions)
    plain = read_tables(tables, file_name, models, {}, marks=marks)
    key = layout_key(plain.tables)
    row = kept_mappings.find(session, sent_by, key)
    mapped: Mapped = row.mapping if row else {}
    preview = plain
    if mapped or answers.said:
        typed = answered(tables, answers)
        preview = read_tables(typed, file_name, models, mapped, answers.said, marks)
        preview = _with_what_stood_there(preview, tables, answers)
    same_clubs = mapped.get(CLUBS, {})
    chosen = {**mapped.get(MODELS, {}), **_model_of_the_list(models, answers)}
    alike = _clubs_alike(preview.persons, taker, sent_by)
    for found in preview.persons:
        name = found.club or sent_by
        found.club = same_clubs.get(name, name)
        found.group = found.group or answers.group
    why = {query.key: query.why for query in preview.queries if query.key}
    people = [
        _unless_it_waits(one, found, answers, alike.keys() - same_clubs.keys(), why)
        for one, found in zip(
            listed_people(session, taker, preview, versions, sent_by, accepts_mm, chosen),
            preview.persons,
            strict=True,
        )
    ]
    not_listed = tuple(taker.not_listed(people))
    return Look(
        preview, mapped, key, sent_by, tuple(people), models, tables, answers, alike, not_listed
    )


def _marks_of(versions: Sequence[ModelVersion]) -> Marks:
    """The labels of all marks of the models that are known."""
    return {
        version.model.name: {
            axis.key: {axis.scale.label(stop) for stop in range(axis.scale.count)}
            for axis in version.model.axes
        }
        for version in versions
    }


def _model_of_the_list(models: Mapping[str, str], answers: Answers) -> dict[str, str]:
    """The model that is meant throughout, by its kind; ``NoSuchModel`` where none is called so."""
    said = answers.said.get(MODEL_OF_ALL, "")
    if not said:
        return {}
    found = [name for name in models if name.casefold() == said.casefold()]
    if not found:
        raise NoSuchModel(said, models)
    return {models[found[0]]: found[0]}


def _clubs_alike(persons: Sequence[PersonFound], taker: Taker, sent_by: str) -> dict[str, str]:
    names = [name for name in dict.fromkeys(one.club or sent_by for one in persons) if name]
    return {name: known for name in names[:MOST_CLUBS] if (known := taker.club_alike(name))}


def _unless_it_waits(
    one: ListedPerson,
    found: PersonFound,
    answers: Answers,
    clubs_open: Set[str],
    why: Mapping[str, str],
) -> ListedPerson:
    """Nothing is taken of whoever is not ticked, or while a question about them is open.

    ``why`` are the questions by their keys.
    """
    if row_key(*found.rows[0]) in answers.rows_left_out:
        return replace(one, why_not=NOT_TICKED, name_open=False, is_ticked=False)
    if (waits := [key for key in found.waits if key in why]) and not one.why_not:
        return replace(one, why_not=f"it waits for an answer: {lower_first(why[waits[0]])}")
    if found.club in clubs_open and not one.why_not:
        return replace(one, why_not=CLUB_OPEN)
    return one


def _with_what_stood_there(
    preview: ListPreview, tables: Sequence[Table], answers: Answers
) -> ListPreview:
    """The values that were typed, each with what stands in the list in its place."""
    stood = {
        key: cell.text
        for table in tables
        for row in table.rows
        for cell in row.cells
        if (key := cell_key(table.sheet, row.number, cell.column)) in answers.said
    }
    accepted = tuple(
        one._replace(read=f"{one.read}, typed for {quoted(stood.get(key, ''))}")
        if (key := cell_key(one.sheet, one.row, one.column)) in answers.said
        else one
        for one in preview.accepted
    )
    return replace(preview, accepted=accepted)


def remember(session: ClubSession, sent_by: str, key: str, mapped: Mapped) -> None:
    """Keep how that club's lists of that layout are to be read, now and the next time."""
    row = kept_mappings.find(session, sent_by, key)
    if row is None:
        row = kept_mappings.ListMapping(sent_by=sent_by, layout_key=key)
        session.add(row)
    row.mapping = {place: dict(told) for place, told in mapped.items()}
    row.kept_at, row.kept_by = utc_now(), session.by
    session.flush()


def take(session: ClubSession, taker: Taker, seen: Look) -> tuple[int, int]:
    """Take everybody and keep their settings; how many came new, and how many settings were kept.

    Whoever is known already does not come twice: a setting that differs is a new version. What is
    left out goes to the taker, line by line.
    ``NamesUndecided`` where nobody has said which of two names comes first.
    """
    if not seen.ready:
        raise NamesUndecided
    coming = [at for at, one in enumerate(seen.people) if one.known is None and not one.why_not]
    came = taker.take_all(session, [seen.people[at] for at in coming])
    athlete_ids = dict(zip(coming, came, strict=True)) | {
        at: one.known
        for at, one in enumerate(seen.people)
        if one.known is not None and not one.why_not
    }
    kept = [
        NewSetting(
            athlete_id,
            listed.model.id,
            listed.present.version + 1 if listed.present else 1,
            listed.setting,
            taker.reason,
            listed.as_read,
        )
        for at, athlete_id in athlete_ids.items()
        for listed in seen.people[at].settings
        if listed.model and listed.setting and not listed.is_kept_already
    ]
    desk_settings.keep_settings(session, kept)
    taker.keep_left_out(session, seen.sent_by, seen.key, _left_out(seen, athlete_ids))
    return len(came), len(kept)


def _left_out(seen: Look, athlete_ids: Mapping[int, int]) -> Iterator[Line]:
    """Every cell in doubt; what is left out without one; whoever was not taken at all.

    Nothing of whoever is not ticked: somebody has settled that.
    """
    not_wanted = {at for at, one in enumerate(seen.people) if not one.is_ticked}
    asked = [query for query in seen.preview.queries if query.person not in not_wanted]
    for query in asked:
        athlete_id = None if query.person is None else athlete_ids.get(query.person)
        where = place(query.sheet, query.row, query.column)
        yield Line(athlete_id, where, query.read, query.why)
    in_doubt = {query.person for query in asked}
    for at, one in enumerate(seen.people):
        if at in not_wanted:
            continue
        if one.why_not:
            yield Line(None, "", one.person.listed_name, one.why_not)
        elif at not in in_doubt:
            yield from (
                Line(athlete_ids[at], "", listed.model_name, listed.why_not)
                for listed in one.settings
                if listed.setting is None
            )


class NoSuchModel(SettingsDeskError):
    """A model was named for a whole list, and none is called so."""

    def __init__(self, name: str, known: Iterable[str]) -> None:
        self.name, self.known = name, tuple(known)

    def __str__(self) -> str:
        known = ", ".join(self.known) or "none yet"
        return f"No model is called {self.name}: the models are {known}"
