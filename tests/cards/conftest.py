"""What tests of cards have in common."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from settingsdesk.cards.crew_sheet import CrewPaper
from settingsdesk.desk.meet_day import cards as meet_cards
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets
from settingsdesk.desk.meet_day.cards import Choice
from settingsdesk.desk.meets import entries
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.words.languages import catalogue_of
from tests.cards import letters_beside
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, DAY, hold


@pytest.fixture
def no_letters_beside(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """Nothing is installed for Chinese, Japanese and Korean letters."""
    with letters_beside.installed(monkeypatch, tmp_path):
        yield


@pytest.fixture
def letters_for_japanese(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """Whatever the Japanese catalogue and a name need is installed."""
    said = {letter for message in catalogue_of("ja") for letter in "".join(message.string)}
    with letters_beside.installed(monkeypatch, tmp_path, said | set("李花年月日分、。")):
        yield


@pytest.fixture
def groups(demo_club: DemoClub) -> list[CardGroup]:
    """A meet's cards, one of whom asked to have the rails raised, made and then printed anew."""
    held = hold(demo_club)
    entry = held.guests[0].entry_id
    with demo_club.work(writes=True) as session:
        entries.tell_raise(session, entry, held.apparatus_id, "asked", 50, "her coach", DAY)
        meet_cards.issue(session, CODE_KEY, held.meet_id, Choice())
        made = meet_cards.printed(session, CODE_KEY, held.meet_id, Choice())
    return [CardGroup(cards, heading) for heading, cards in made.groups]


@pytest.fixture
def paper(demo_club: DemoClub) -> CrewPaper:
    held = hold(demo_club)
    with demo_club.work() as session:
        return crew_sheet_words.paper(crew_sheets.crew_sheet(session, held.rotation_id))
