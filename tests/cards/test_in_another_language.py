"""Cards and crew sheets in a marked language: no sentence on paper is outside the catalogue."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from settingsdesk.cards.crew_sheet import CrewPaper, crew_sheets_pdf
from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.desk.cards import issued
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, mats_of_day
from settingsdesk.desk.meet_day import crew_sheet_words, crew_sheets
from settingsdesk.desk.meets import meets, start_orders
from settingsdesk.desk.squad import crew_notes
from settingsdesk.desk.squad.settings import NOT_TRIED, UNMEASURED_FORMS
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card, CardGroup
from settingsdesk.words.language import ENGLISH
from tests.cards.reading import page_texts, parts
from tests.conftest import DemoClub
from tests.desk.sample_meet import BARS, CODE_KEY, DAY, hold
from tests.words.pseudo import marked_language, outside

NAMES = (
    *("Almira O.", "Sunniva B.", "Noor H.", "Juniors", "Lantern Cup", "Main hall", BARS),
    *("Tarn Hollow GC", "Wexlow Turners", "Runa", "Hall frame A"),
)

ELSEWHERE = "Bars by the door"
"""Of another model than the one that the settings were measured on."""
MEASURED_ON = "Leaning frame C"


def unmeasured(club: DemoClub) -> list[Card]:
    """Cards for bars of a model that their settings were not measured on, printed anew."""
    with club.work(writes=True) as session:
        door = next(one.id for one in apparatus.all_pieces(session) if one.name == ELSEWHERE)
        issued.issue(session, CODE_KEY, door, [1, 2])
    with club.work() as session:
        return issued.issue(session, CODE_KEY, door, [1, 2])


def names_on(cards: Sequence[Card]) -> list[str]:
    """What stands on them that no language has another word for."""
    return [text for card in cards for text in (card.name, card.club, card.apparatus, card.model)]


def said(pdf: bytes, pages: Sequence[str]) -> list[str]:
    """What stands on the pages, and what is read aloud instead of pictures."""
    heard = [part.says for page in range(len(pages)) for part in parts(pdf, page) if part.says]
    return [" ".join(text.split()) for text in (*pages, *heard)]


class TestACard:
    @pytest.mark.parametrize("size", Size)
    def test_all_that_it_says_is_in_the_catalogue(
        self, groups: list[CardGroup], size: Size
    ) -> None:
        """Though it was kept as English text when it was made."""
        pdf = cards_pdf(groups, size, marked_language())

        assert outside(said(pdf, page_texts(pdf)), NAMES) == []

    def test_a_card_of_the_hall_too(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            made = issued.issue(session, CODE_KEY, 1, [1, 2], with_club=True)
        names = [text for card in made for text in (card.name, card.club, card.apparatus)]
        pdf = cards_pdf([CardGroup(tuple(made))], Size.A6, marked_language())

        assert outside(said(pdf, page_texts(pdf)), [*names, made[0].model]) == []

    @pytest.mark.parametrize("size", Size)
    def test_one_that_says_what_was_not_measured(self, demo_club: DemoClub, size: Size) -> None:
        """It must be understood by whoever takes a number that was worked out for a tried one."""
        made = unmeasured(demo_club)
        pdf = cards_pdf([CardGroup(tuple(made))], size, marked_language())
        texts = said(pdf, page_texts(pdf))

        assert "‹Worked out from" in " ".join(texts)
        assert outside(texts, [*NAMES, MEASURED_ON, *names_on(made)]) == []

    @pytest.mark.parametrize("size", Size)
    def test_one_with_a_note_for_the_crew_on_a_day_with_other_mats(
        self, demo_club: DemoClub, size: Size
    ) -> None:
        """The note is as it was written; what is said of the mats was kept as English text."""
        with demo_club.work(writes=True) as session:
            mats_of_day.lie_on(session, 1, today(), 100)
            crew_notes.write(session, 1, 1, "Board on the left")
            issued.issue(session, CODE_KEY, 1, [1, 2])
        with demo_club.work() as session:
            made = issued.printed(session, CODE_KEY, 1, [1, 2])
        pdf = cards_pdf([CardGroup(tuple(made))], size, marked_language())
        texts = said(pdf, page_texts(pdf))

        assert "‹Above the mat" in " ".join(texts)
        assert outside(texts, [*NAMES, *names_on(made), "Board on the left"]) == []

    @pytest.mark.parametrize("form", UNMEASURED_FORMS)
    def test_one_whose_front_has_no_room_for_it(self, demo_club: DemoClub, form: str) -> None:
        """What it says in short, and on its back, is said in words of the same language."""
        long_name = "Leaning uprights with cable stays and double spreaders, second series"
        made = [
            replace(card, unmeasured=Sentence(form, model=long_name), not_tried=Sentence(NOT_TRIED))
            for card in unmeasured(demo_club)
        ]
        pdf = cards_pdf([CardGroup(tuple(made))], Size.ID1, marked_language())
        texts = said(pdf, page_texts(pdf))

        assert "‹Folded along the dashed line, this is the back.›" in " ".join(texts)
        assert outside(texts, [*NAMES, *long_name.split(), *names_on(made)]) == []

    @pytest.mark.parametrize("size", Size)
    def test_in_english_it_is_what_it_was(self, groups: list[CardGroup], size: Size) -> None:
        """The same bytes for whoever prints it again."""
        assert cards_pdf(groups, size, ENGLISH) == cards_pdf(groups, size, ENGLISH)


class TestACrewSheet:
    def test_all_that_it_says_is_in_the_catalogue(self, paper: CrewPaper) -> None:
        pdf = crew_sheets_pdf([paper], "", DAY, marked_language())

        assert outside(said(pdf, page_texts(pdf)), NAMES) == []

    def test_one_at_bars_where_nothing_was_measured(self, demo_club: DemoClub) -> None:
        held = hold(demo_club)
        with demo_club.work(writes=True) as session:
            door = next(one.id for one in apparatus.all_pieces(session) if one.name == ELSEWHERE)
            meets.put_apparatus(session, held.meet_id, door)
            there = start_orders.Place(held.session_id, 2, door)
            guests = [guest.member.id for guest in held.guests]
            made = start_orders.set_new(session, there, guests, "typed").rotation_id
        with demo_club.work() as session:
            paper = crew_sheet_words.paper(crew_sheets.crew_sheet(session, made))
        pdf = crew_sheets_pdf([paper], "", DAY, marked_language())
        texts = said(pdf, page_texts(pdf))

        assert "Worked out from" in " ".join(texts)
        assert outside(texts, [*NAMES, ELSEWHERE]) == []

    @pytest.mark.usefixtures("no_letters_beside")
    def test_where_a_name_is_to_be_written_in_it_says_so(self, paper: CrewPaper) -> None:
        nameless = replace(paper, rows=(replace(paper.rows[0], name="花 H."), *paper.rows[1:]))
        pdf = crew_sheets_pdf([nameless], "", DAY, marked_language())

        assert "‹Name:›" in " ".join(page_texts(pdf))
        assert outside(said(pdf, page_texts(pdf)), NAMES) == []
