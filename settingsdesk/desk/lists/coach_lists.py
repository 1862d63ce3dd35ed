"""A coach's list: looked at as a whole, corrected where a person has to, then taken.

Nothing is saved before somebody has seen what it comes to. What is taken is what the preview took;
each cell that was queried stays a line for a person to settle.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import sha256

from settingsdesk.desk.clock import local_date
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.hall.models import ModelVersion
from settingsdesk.desk.lists.answers import Answers, answered, name_key
from settingsdesk.desk.lists.listed_people import (
    SAID_NOT_COMING,
    ListedPerson,
    ListedSetting,
    NamesUndecided,
    Taker,
    listed_people,
)
from settingsdesk.desk.lists.mark_scales import MarkScale
from settingsdesk.desk.meets.unsettled_lines import Line
from settingsdesk.desk.squad import athletes as desk_athletes
from settingsdesk.desk.squad import crew_notes, setting_drafts
from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad.setting_drafts import Draft
from settingsdesk.desk.squad.settings import NewSetting
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import lower_first, quoted, so_many
from settingsdesk.sheets.collecting import without_collecting
from settingsdesk.sheets.lists.doubles import in_order
from settingsdesk.sheets.lists.preview import (
    NOT_COMING,
    TAKE,
    ListPreview,
    Mapped,
    Marks,
    PersonFound,
    Place,
    Query,
    cell_key,
)
from settingsdesk.sheets.lists.reading import layout_key, read_tables, tables_of
from settingsdesk.sheets.lists.row_notes import FIGURE_IN_REMARK
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
SCALE = "scale:"
"""Begins the key of the answer on whose scale a model's marks are; its name follows."""
NO_ANSWERS = Answers()
MOST_CLUBS = 100  # so many names of one list are compared with those that are known
NOT_TICKED = "it is not ticked"
REQUEST = "A request: record it on the entry"
REMARK_WITH_A_FIGURE = "A remark with a figure: if it is a request, record it on the entry"
TAKES_BACK = "the list says again what {by} has changed on {on}: tick it to take that back"
CLUB_OPEN = "nobody has said whether its club is one that has entered already"


def _what_is_said(listed: ListedSetting) -> tuple[object, ...]:
    """All of it, its model by number: told whole for each setting, models took half of a look."""
    version, setting, scale = listed.model, listed.setting, listed.scale
    return (
        version and (version.id, version.version),
        setting and (setting.kind.key, setting.axes),
        listed.present and listed.present.id,
        scale and (scale.in_words, scale.chosen),
        replace(listed, model=None, setting=None, present=None, scale=None),
    )


@dataclass(frozen=True)
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

    @cached_property
    def names_open(self) -> bool:
        """Whether somebody has to say which of two names comes first."""
        return any(athlete.name_open for athlete in self.people)

    @property
    def is_ours(self) -> bool:
        """Whether it is a sheet of our own columns, of which all is taken or nothing."""
        return self.preview.is_ours

    @property
    def ready(self) -> bool:
        """Whether it can be taken as it is; lines with a reason against them are left out."""
        if self.is_ours:
            return self.is_whole and bool(self.changing_rows)
        return bool(self.taken) and not self.names_open

    @cached_property
    def changing_rows(self) -> Set[int]:
        """The rows of a sheet of our own columns that would change something."""
        if not self.is_ours:
            return frozenset()
        people = {
            athlete.found.at[1]
            for athlete in self.taken
            if athlete.known is None or athlete.becomes
        }
        noted = {
            setting.at[1]
            for athlete in self.taken
            for setting in athlete.settings
            if setting.new_note
        }
        return people | noted | {setting.at[1] for setting in self.changes}

    @property
    def sheets_not_read(self) -> Sequence[str]:
        """The other sheets of a workbook that has a sheet of our own columns."""
        read = {table.sheet for table in self.preview.tables}
        return [table.sheet for table in self.tables if self.is_ours and table.sheet not in read]

    @property
    def unchanged_rows(self) -> int:
        """How many rows of athletes would change nothing, and have nothing against them."""
        counted = self.changing_rows | {query.row for query in self.preview.queries}
        return sum(row not in counted for found in self.preview.persons for _, row in found.rows)

    @property
    def kinds_unnamed(self) -> Sequence[str]:
        """The kinds of apparatus of which the list names no model, each once."""
        listed = (setting for athlete in self.people for setting in athlete.settings)
        unnamed = (setting.kind for setting in listed if setting.kind and not setting.is_named)
        return list(dict.fromkeys(unnamed))

    @cached_property
    def is_model_open(self) -> bool:
        """Whether somebody has to say which model is meant."""
        listed = (setting for athlete in self.people for setting in athlete.settings)
        return any(
            setting.kind and setting.model is None and not setting.is_named for setting in listed
        )

    @property
    def mark_scales(self) -> Mapping[str, MarkScale]:
        """On whose scales the marks of the list are read, by the model's name."""
        return {
            setting.model_name: setting.scale
            for athlete in self.people
            for setting in athlete.settings
            if setting.scale is not None
        }

    @cached_property
    def taken(self) -> Sequence[ListedPerson]:
        """Whoever nothing speaks against."""
        return [athlete for athlete in self.people if not athlete.why_not]

    @property
    def changes(self) -> Sequence[ListedSetting]:
        """The settings that taking it would keep anew."""
        listed = (setting for athlete in self.taken for setting in athlete.settings)
        return [
            setting
            for setting in listed
            if setting.setting is not None and not setting.is_kept_already
        ]

    @property
    def not_whole(self) -> Sequence[ListedSetting]:
        """The settings that are left out, of athletes who are not."""
        listed = (setting for athlete in self.taken for setting in athlete.settings)
        return [setting for setting in listed if setting.setting is None]

    @property
    def is_whole(self) -> bool:
        """Whether taking it leaves nothing out."""
        return not (self.to_settle or self.not_whole or len(self.taken) < len(self.people))

    @property
    def to_settle(self) -> Sequence[Query]:
        """What somebody has to settle, and not only to read."""
        return [query for query in self.preview.queries if not query.is_only_said]

    @property
    def fingerprint(self) -> str:
        """The same as long as taking it would do the same."""
        told = [
            (
                athlete.becomes or athlete.person,
                athlete.found.club,
                athlete.found.start_number,
                athlete.found.group,
                athlete.known,
                [_what_is_said(setting) for setting in athlete.settings],
            )
            for athlete in self.taken
        ]
        return sha256(repr(told).encode()).hexdigest()


@without_collecting()
def look(
    session: ClubSession,
    taker: Taker,
    content: bytes,
    file_name: str,
    sent_by: str = "",
    accepts_mm: int = 0,
    answers: Answers = NO_ANSWERS,
    *,
    as_any_list: bool = False,
) -> Look:
    """What taking a list would do, read as somebody corrected lists of its layout before.

    ``sent_by`` is the club where the list names none, and empty for our own; ``accepts_mm`` the
    deviation that is accepted where neither the list nor the setting before states one;
    ``answers`` are those to this one file; ``as_any_list`` takes a sheet of our own columns for
    somebody's list, of which what is in doubt is left out. Raises ``FileRefused``.
    """
    versions = desk_models.all_models(session)
    models = {version.model.name: version.model.kind.key for version in versions}
    tables = tables_of(content, file_name)
    marks = _marks_of(versions)
    takes_ours = taker.takes_ours and not as_any_list
    plain = read_tables(tables, file_name, models, {}, marks=marks, takes_ours=takes_ours)
    key = layout_key(plain.tables)
    row = None if plain.is_ours else kept_mappings.find(session, sent_by, key)
    mapped: Mapped = row.mapping if row else {}
    preview = plain
    if mapped or answers.said:
        typed = answered(tables, answers)
        preview = read_tables(
            typed, file_name, models, mapped, answers.said, marks, takes_ours=takes_ours
        )
        preview = _with_what_stood_there(preview, tables, answers)
    same_clubs = mapped.get(CLUBS, {})
    chosen = {**mapped.get(MODELS, {}), **_model_of_the_list(models, answers)}
    alike = _clubs_alike(preview.persons, taker, sent_by)
    for found in preview.persons:
        name = found.club or sent_by
        found.club = same_clubs.get(name, name)
        found.group = found.group or ("" if preview.is_ours else answers.group)
    accepts_mm = 0 if preview.is_ours else accepts_mm
    scales = {
        key.removeprefix(SCALE): answer
        for key, answer in answers.said.items()
        if key.startswith(SCALE)
    }
    listed, queries = listed_people(
        session, taker, preview, versions, accepts_mm, chosen, scales, answers.said
    )
    preview = replace(preview, queries=tuple(in_order(queries, [table.sheet for table in tables])))
    why = {query.key: query.why for query in preview.queries if query.key}
    not_coming = {
        at for note in preview.notes if note.answered == NOT_COMING.value for at in note.persons
    }
    if not preview.is_ours:
        listed = _with_what_they_take_back(session, listed)
    people = [
        replace(athlete, why_not=SAID_NOT_COMING, is_ticked=False)
        if at in not_coming
        else _unless_it_waits(athlete, answers, alike.keys() - same_clubs.keys(), why)
        for at, athlete in enumerate(listed)
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
    names = [name for name in dict.fromkeys(found.club or sent_by for found in persons) if name]
    return {name: known for name in names[:MOST_CLUBS] if (known := taker.club_alike(name))}


def _unless_it_waits(
    athlete: ListedPerson,
    answers: Answers,
    clubs_open: Set[str],
    why: Mapping[str, str],
) -> ListedPerson:
    """Nothing is taken of whoever is not ticked, or while a question about them is open.

    ``why`` are the questions by their keys.
    """
    key = name_key(athlete.found.at)
    if key in answers.rows_left_out:
        return replace(athlete, why_not=NOT_TICKED, is_ticked=False)
    back = next((one.present for one in athlete.settings if one.takes_back), None)
    if back is not None and key not in answers.rows_ticked:
        changed = TAKES_BACK.format(
            by=back.recorded_by, on=day_in_words(local_date(back.recorded_at))
        )
        return replace(athlete, why_not=athlete.why_not or changed, is_ticked=False)
    if (waits := [key for key in athlete.found.waits if key in why]) and not athlete.why_not:
        return replace(athlete, why_not=f"it waits for an answer: {lower_first(why[waits[0]])}")
    if athlete.found.club in clubs_open and not athlete.why_not:
        return replace(athlete, why_not=CLUB_OPEN)
    return athlete


def _with_what_they_take_back(
    session: ClubSession, people: Sequence[ListedPerson]
) -> list[ListedPerson]:
    """Each setting that the list has as it was before somebody changed it, marked as that.

    A list that is sent once more knows nothing of what was put right since.
    """
    changing = {
        athlete.known
        for athlete in people
        for one in athlete.settings
        if athlete.known is not None and one.before and not one.is_kept_already
    }
    if not changing:
        return list(people)
    before = desk_settings.lengths_of_every_version(session, changing)

    def marked(athlete: ListedPerson, one: ListedSetting) -> ListedSetting:
        if athlete.known is None or not (one.model and one.setting and one.before):
            return one
        lengths_mm = {key: wanted.wanted_mm for key, wanted in one.setting.axes.items()}
        now_mm = {key: wanted.wanted_mm for key, wanted in one.before.axes.items()}
        was_so = lengths_mm in before.get((athlete.known, one.model.id, one.purpose), [])
        return replace(one, takes_back=was_so and lengths_mm != now_mm)

    return [
        replace(athlete, settings=tuple(marked(athlete, one) for one in athlete.settings))
        if athlete.known in changing
        else athlete
        for athlete in people
    ]


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
        value._replace(read=f"{value.read}, typed for {quoted(stood.get(key, ''))}")
        if (key := cell_key(*value.place)) in answers.said
        else value
        for value in preview.accepted
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
    ``NamesUndecided`` where nobody has said which of two names comes first, ``NotWhole`` where a
    sheet of our own columns would not be taken as a whole.
    """
    if seen.is_ours and not seen.is_whole:
        raise NotWhole(list(left_out(seen)))
    if not (seen.is_ours or seen.ready):
        raise NamesUndecided
    coming = [
        at
        for at, athlete in enumerate(seen.people)
        if athlete.known is None and not athlete.why_not
    ]
    came = taker.take_all(session, [seen.people[at] for at in coming])
    athlete_ids = dict(zip(coming, came, strict=True)) | {
        at: athlete.known
        for at, athlete in enumerate(seen.people)
        if athlete.known is not None and not athlete.why_not
    }
    changed = {
        athlete.known: athlete.becomes
        for athlete in seen.taken
        if athlete.known is not None and athlete.becomes
    }
    if changed:
        desk_athletes.change_all(session, changed)
    kept = [
        NewSetting(
            athlete_id,
            listed.model.id,
            listed.present.version + 1 if listed.present else 1,
            listed.setting,
            listed.reason,
            listed.as_read,
            untried=listed.untried or (listed.present is not None and listed.present.untried),
            purpose=listed.purpose,
        )
        for at, athlete_id in athlete_ids.items()
        for listed in seen.people[at].settings
        if listed.model and listed.setting and not listed.is_kept_already
    ]
    desk_settings.keep_settings(session, kept)
    crew_notes.write_all(
        session,
        {
            (athlete_id, listed.model.id): listed.new_note
            for at, athlete_id in athlete_ids.items()
            for listed in seen.people[at].settings
            if listed.model and listed.new_note
        },
    )
    _keep_drafts(session, seen, athlete_ids)
    open_still = [*left_out(seen, athlete_ids), *_to_remember(seen, athlete_ids)]
    taker.keep_left_out(session, seen.sent_by, seen.key, open_still)
    return len(came), len(kept)


def _to_remember(seen: Look, athlete_ids: Mapping[int, int]) -> Iterator[Line]:
    """What a list asks for of whoever was taken, which is no setting: somebody has to see to it."""
    for at, athlete_id in athlete_ids.items():
        found = seen.people[at].found
        if found.raise_request:
            yield Line(athlete_id, _where(seen, found.at), found.raise_request, REQUEST)
    for note in seen.preview.notes:
        for at in note.persons if note.answered == TAKE.value else ():
            if note.why == FIGURE_IN_REMARK and at in athlete_ids:
                where = _where(seen, (note.sheet, note.row, note.column))
                yield Line(athlete_ids[at], where, note.text, REMARK_WITH_A_FIGURE)


def _keep_drafts(session: ClubSession, seen: Look, athlete_ids: Mapping[int, int]) -> None:
    """Keep what is clear of settings that are not whole."""
    drafts = [
        Draft(
            athlete_id,
            listed.model.id,
            listed.halves,
            listed.scale.chosen if listed.scale else "",
        )
        for at, athlete_id in athlete_ids.items()
        for listed in seen.people[at].settings
        if listed.model and listed.halves and listed.setting is None
    ]
    setting_drafts.keep_all(session, drafts)


def left_out(seen: Look, athlete_ids: Mapping[int, int] | None = None) -> Iterator[Line]:
    """Every cell in doubt; what is left out without one; whoever was not taken at all.

    Nothing of whoever is not ticked: somebody has settled that. ``athlete_ids`` are those of whom
    the list names, by their places.
    """
    ids = athlete_ids or {}
    not_wanted = {
        at
        for at, athlete in enumerate(seen.people)
        if athlete.why_not in (NOT_TICKED, SAID_NOT_COMING)
    }
    asked = [query for query in seen.to_settle if query.person not in not_wanted]
    for query in asked:
        athlete_id = None if query.person is None else ids.get(query.person)
        where = _where(seen, query.place)
        yield Line(athlete_id, where, query.read, query.why)
    in_doubt = {(query.person, query.row if seen.is_ours else 0) for query in asked}
    for at, athlete in enumerate(seen.people):
        if at in not_wanted:
            continue
        if athlete.why_not:
            yield Line(
                None, _where(seen, athlete.found.at), athlete.person.listed_name, athlete.why_not
            )
            continue
        for listed in athlete.settings:
            row = listed.at[1] if seen.is_ours else 0
            if listed.setting is None and (at, row) not in in_doubt:
                yield Line(ids.get(at), place(*listed.at[:2]), listed.called, listed.why_not)


def _where(seen: Look, at: Place) -> str:
    """The place in words; in our own columns by their headers too."""
    sheet, _, letter = at
    header = next(
        (
            f", {column.header}"
            for table in seen.preview.tables
            if table.is_ours and table.sheet == sheet
            for column in table.columns
            if column.line == letter
        ),
        "",
    )
    return f"{place(*at)}{header}"


class NotWhole(SettingsDeskError):
    """A sheet of our own columns was to be taken although something of it cannot be."""

    def __init__(self, left_out: Sequence[Line]) -> None:
        self.left_out = tuple(left_out)

    def __str__(self) -> str:
        first = self.left_out[0]
        return (
            f"Nothing was saved. The sheet has {so_many(len(self.left_out), 'place')} to put right;"
            f" the first: {first.place}: {quoted(first.read)}: {first.why}"
        )


class NoSuchModel(SettingsDeskError):
    """A model was named for a whole list, and none is called so."""

    def __init__(self, name: str, known: Iterable[str]) -> None:
        self.name, self.known = name, tuple(known)

    def __str__(self) -> str:
        known = ", ".join(self.known) or "none yet"
        return f"No model is called {self.name}: the models are {known}"
