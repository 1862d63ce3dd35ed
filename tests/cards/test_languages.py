"""Cards and crew sheets on paper in every language: whole, and with the English where it is due."""

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from settingsdesk.cards.crew_sheet import CrewPaper, CrewRow, crew_sheets_pdf
from settingsdesk.cards.foot import CAUTION, NOT_READ
from settingsdesk.cards.languages import printed_in
from settingsdesk.cards.lettering import as_read
from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.cards.sheet import TEN_ID1
from settingsdesk.desk.cards import issued
from settingsdesk.desk.hall import apparatus
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.domain.settings.card import Card, CardGroup
from settingsdesk.words.language import ENGLISH
from settingsdesk.words.languages import NAMES, spoken
from tests.cards.letters_beside import installed
from tests.cards.reading import lines, page_sizes_mm, page_texts, stencils
from tests.cards.test_in_another_language import unmeasured
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY, DAY

TRANSLATED = [tag for tag in NAMES if tag != "en"]
pytestmark = pytest.mark.usefixtures("letters_for_japanese")


def read(pdf: bytes) -> str:
    """What stands on it, in the letters in which it is typed, on one line."""
    return " ".join(as_read(" ".join(page_texts(pdf))).split())


@pytest.fixture
def cards(demo_club: DemoClub) -> list[Card]:
    """One for each apparatus of the hall, of whoever has a setting for it."""
    found: list[Card] = []
    with demo_club.work(writes=True) as session:
        for piece in apparatus.all_pieces(session):
            for athlete_id in range(1, 12):
                try:
                    found += issued.issue(session, CODE_KEY, piece.id, [athlete_id])
                except issued.WithoutSetting:
                    continue
                break
    return found


class TestACard:
    def test_is_whole_in_every_size(
        self, groups: list[CardGroup], cards: list[Card], demo_club: DemoClub
    ) -> None:
        """With a request, with what was not measured, and of every kind of apparatus."""
        every = [*groups, CardGroup((*cards, *unmeasured(demo_club)))]
        for tag, size in product(TRANSLATED, Size):
            assert "…" not in read(cards_pdf(every, size, spoken(tag))), (tag, size)

    def test_has_its_cautions_in_english_till_somebody_has_read_it(
        self, groups: list[CardGroup]
    ) -> None:
        asked = groups[0].cards[0].raise_request
        for tag, size in product(TRANSLATED, Size):
            text = read(cards_pdf(groups, size, spoken(tag)))
            for told in (CAUTION, NOT_READ, asked, spoken(tag).said(NOT_READ)):
                assert str(told) in text, (tag, size)
            by_then = read(cards_pdf(groups, size, replace(spoken(tag), unread=False)))
            assert not any(str(told) in by_then for told in (CAUTION, NOT_READ, asked))

    def test_has_nothing_below_its_edge(self, cards: list[Card]) -> None:
        """The back of the smallest says most, and has the least room."""
        long_name = "Leaning uprights with cable stays and double spreaders, second series"
        told = Sentence("Worked out from %(model)s, not measured here", model=long_name)
        full = replace(cards[0], club="Wexlow Turners", unmeasured=told)
        edge_mm = TEN_ID1.y_cuts_mm[1]
        for tag in TRANSLATED:
            pdf = cards_pdf([CardGroup((full,))], Size.ID1, spoken(tag))
            on_card = [line.top for line in lines(pdf) if line.top < 2 * edge_mm]
            assert max(on_card) < edge_mm - 2, tag


class TestFromRightToLeft:
    def test_all_but_the_drawing_stands_the_other_way_round(self, groups: list[CardGroup]) -> None:
        """The code is on the left; what it leads to is read by a phone as ever."""
        wide_mm, _ = page_sizes_mm(cards_pdf(groups, Size.A6, spoken("ar")))[0]
        [there, *_], [here, *_] = (
            stencils(cards_pdf(groups, Size.A6, spoken(tag))) for tag in ("ar", "en")
        )
        assert there.left == pytest.approx(wide_mm - here.right, abs=0.1)


class TestACrewSheet:
    def test_is_whole_with_its_steps_in_english_too(self, paper: CrewPaper) -> None:
        for tag in TRANSLATED:
            text = read(crew_sheets_pdf([paper], "", DAY, spoken(tag)))
            assert "…" not in text
            for told in (paper.cautions, *paper.rows[0].moves, NOT_READ):
                assert str(told) in text, tag

    def test_tears_no_word_of_the_names_above_its_marks(self) -> None:
        """What to read stands there: half a word is looked for among the marks."""
        alike = set(TRANSLATED) - {"ja", "ar"}  # one without words, one drawn from its far end
        for tag, kind in product(sorted(alike), KINDS.values()):
            row = CrewRow("1.", "Almira O.", "", (("5", "168.0 cm"),) * len(kind.axes), (), "", ())
            names = tuple(axis.name for axis in kind.axes)
            paper = CrewPaper("", (), names, (row,), (), "")
            text = read(crew_sheets_pdf([paper], "", DAY, spoken(tag)))
            words = {word for name in names for word in spoken(tag).said(name).split()}
            assert {word for word in words if word not in text} == set(), (tag, kind.key)


class TestLettersThatAreNotThere:
    def test_print_english_rather_than_nothing(
        self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        """The desk was moved to a machine where nobody installed them."""
        assert printed_in("ja").tag == "ja"
        with installed(monkeypatch, tmp_path):
            assert printed_in("ja") is ENGLISH
            assert [printed_in(tag).tag for tag in ("de", "ar")] == ["de", "ar"]
