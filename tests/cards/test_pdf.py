"""Cards as they come out of the printer."""

import hashlib
from dataclasses import replace
from datetime import date

import pytest
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from settingsdesk.cards.fit import NoRoomOnCard
from settingsdesk.cards.id1 import places
from settingsdesk.cards.lettering import CharacterNotInFont
from settingsdesk.cards.pdf import NoCards, Size, cards_pdf
from settingsdesk.cards.sheet import TEN_ID1
from settingsdesk.cards.symbol import AddressTooLong
from settingsdesk.domain.base.drawing import Box, Drawing, Ink
from settingsdesk.domain.base.figures import length_in_words
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.card import Card, CardGroup
from settingsdesk.domain.settings.crew_note import LONGEST
from settingsdesk.words.language import ENGLISH
from settingsdesk.words.languages import spoken
from tests.cards.reading import (
    PathBox,
    letter_sizes_pt,
    lines,
    opened,
    page_texts,
    parts,
    paths,
    rendered,
    stencils,
    symbols,
)
from tests.cards.samples import AS_WANTED, CARD, FIVE_AXES, LONG_CARD, UNEVEN_BARS, as_pdf

RAISED = "Rails raised by 5.0 cm: asked for by the coach, 4 May 2026, not settled yet"
NOT_TRIED = "Not tried by this athlete yet"
UNMEASURED = "Worked out from Hall type with upright posts, not measured here"
AS_USUAL = tuple(
    replace(line, note=f"{line.wanted} is wanted", accepts="± 1.0 cm") for line in AS_WANTED
)
MEET_CARD = replace(CARD, counts_until=date(2026, 12, 31), seen_from="window end")
SMALL_CARDS = [
    CARD,
    LONG_CARD,
    MEET_CARD,
    replace(MEET_CARD, club="Turnverein Nordlicht an der Oberen Wasserkunst von 1908"),
    replace(MEET_CARD, club=LONG_CARD.club, raise_request=RAISED, lines=AS_WANTED),
    replace(CARD, unmeasured=UNMEASURED),
    replace(LONG_CARD, lines=AS_WANTED, unmeasured=UNMEASURED),
    replace(CARD, not_tried=NOT_TRIED),
    replace(LONG_CARD, lines=AS_WANTED, unmeasured=UNMEASURED, not_tried=NOT_TRIED),
]


SYMBOLS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"


def one_line(text: str) -> str:
    return " ".join(text.split())


def squad(number: int) -> list:
    """Cards that differ in name, address and short code."""
    codes = [hashlib.sha256(bytes([place])).digest()[:26] for place in range(number)]
    spelt = ["".join(SYMBOLS[byte % 31] for byte in code) for code in codes]
    return [
        replace(
            CARD,
            name=f"Athlete {place}",
            url=f"https://settings.hall.example/K/{code}",
            short_code=code[:9],
        )
        for place, code in enumerate(spelt)
    ]


class TestWhatIsOnACard:
    @pytest.mark.parametrize("size", Size)
    def test_it_can_be_used_without_any_network(self, size):
        """Marks, centimetres, datum and accepted deviation of every axis, and whose they are."""
        text = one_line(page_texts(as_pdf([CARD], size))[0])
        for line in UNEVEN_BARS:
            for told in (line.axis, line.mark, line.length, line.datum, line.accepts, line.note):
                assert told in text
        for told in (
            CARD.name,
            CARD.club,
            CARD.start_number,
            CARD.apparatus,
            CARD.model,
            f"Marks: {CARD.scale_used}",
            "Version 3 · 4 May 2026",
            "7KM4 Q2XP R",
        ):
            assert told in text

    @pytest.mark.parametrize("size", Size)
    def test_it_defers_to_those_who_know_better(self, size):
        """People get hurt on badly set bars; the caution is on paper too."""
        text = one_line(page_texts(as_pdf([CARD], size))[0])
        assert "The maker’s instructions, federation and local rules come first." in text
        assert "Check locks and tension before use. When in doubt, out of use." in text

    @pytest.mark.parametrize("size", Size)
    @pytest.mark.parametrize("dpi", [200, 300])
    def test_every_symbol_is_read_back_from_paper(self, size, dpi):
        """A symbol that some printer's dots spoil is no symbol."""
        cards = squad(12)
        found = symbols(as_pdf(cards, size), dpi)
        assert sorted(found) == sorted(
            card.url.replace("https://settings.hall.example", "HTTPS://SETTINGS.HALL.EXAMPLE")
            for card in cards
        )

    @pytest.mark.parametrize("size", Size)
    def test_one_bit_printers_print_readable_symbols(self, size):
        """Label and receipt printers know black and nothing: no grey to save an edge."""
        pages = rendered(as_pdf([CARD], size), 203)
        codes = zxingcpp.read_barcodes(pages[0].convert("1", dither=Image.Dither.NONE))
        assert [code.text for code in codes] == [CARD.url.replace("https", "HTTPS").upper()]

    @pytest.mark.parametrize("size", Size)
    def test_the_symbol_is_black_whatever_was_drawn_before(self, size):
        """A grey mat in the end view must not dye the symbol."""
        mat = Drawing(0, 0, 100, 100, 8, (Box(0, 0, 90, 20, filled=True, ink=Ink.QUIET),), "A mat.")
        pdf = as_pdf([replace(CARD, drawing=mat)], size)
        (box,) = stencils(pdf)
        page = rendered(pdf, 300)[0].convert("L")
        inside = [side / 25.4 * 300 for side in (box.left, box.top, box.right, box.bottom)]
        shades = page.crop(tuple(round(side) for side in inside)).getcolors()
        assert min(shade for _, shade in shades) == 0

    def test_the_end_view_carries_its_marks(self):
        """The picture alone tells which mark goes where."""
        text = one_line(page_texts(as_pdf([CARD], Size.A6))[0])
        assert "C4 = 180.0" in text
        assert "drawn 1 : " in text

    @pytest.mark.parametrize("card", [CARD, replace(CARD, line="11170024501650241")])
    def test_five_centimetres_are_told_apart_from_its_frame(self, card: Card):
        """Who lays a ruler on it finds both ends of the line."""
        ruled = paths(as_pdf([card], Size.A6))
        frame = max(ruled, key=lambda one: one.right - one.left)
        (line,) = [one for one in ruled if one.right - one.left == pytest.approx(50, abs=0.02)]
        assert frame.bottom - line.bottom > 1
        ends = [one for one in ruled if one.left == one.right and one.bottom == line.bottom]
        assert [round(one.left - line.left, 1) for one in ends] == [0, 10, 20, 30, 40, 50]

    def test_a_card_without_club_number_and_notes_is_whole_all_the_same(self):
        """A club prints no more of a minor than it chooses."""
        bare = replace(CARD, club="", start_number="", lines=UNEVEN_BARS[:1])
        for size in Size:
            text = one_line(page_texts(as_pdf([bare], size))[0])
            assert "Mira K." in text
            assert "No." not in text


LINE, IN_GROUPS = "171250006002500050", "17-1250-00600-25000-50"
"""Of the kind with the most digits."""
WITH_LINE = replace(
    CARD, line=LINE, url=f"https://settings.a-club-of-ours.example/C/{CARD.url[-26:]}"
)
"""The symbol is as large as they become."""


class TestTheLineOfLengths:
    @pytest.mark.parametrize("size", Size)
    def test_can_be_typed_from_every_size(self, size):
        """Where no reader is at hand, or none that knows our symbols."""
        text = one_line(page_texts(as_pdf([WITH_LINE], size))[0])
        assert f"In any hall: {IN_GROUPS}" in text
        assert text.count(IN_GROUPS) == 1

    @pytest.mark.parametrize("size", Size)
    def test_is_in_the_symbol_through_blur_and_glare(self, size):
        """At the printed size, in a hall under lamps, in a hand that shakes."""
        pdf = as_pdf([WITH_LINE], size)
        (symbol,) = stencils(pdf)
        assert (symbol.right - symbol.left) / 37 >= 0.58
        [code] = zxingcpp.read_barcodes(in_a_hall(rendered(pdf, 300)[0].convert("L"), symbol))
        assert code.text.endswith(f"/{CARD.url[-26:]}/{LINE}")

    @pytest.mark.parametrize("club", ["", CARD.club])
    def test_leaves_ten_cards_on_a_sheet(self, club):
        """Those of a meet too, with their clubs; what is to be heeded besides may need a back."""
        at_a_meet = replace(MEET_CARD, club=club, lines=AS_USUAL, line=LINE)
        assert places(at_a_meet, ENGLISH) == 1
        pdf = as_pdf([at_a_meet], Size.ID1)
        assert min(letter_sizes_pt(pdf)) >= 6

    def test_stands_on_the_back_where_the_front_has_no_room(self):
        said = lines(as_pdf([replace(LONG_CARD, line=LINE)], Size.ID1))
        [line] = [line for line in said if IN_GROUPS in line.words]
        assert line.left > TEN_ID1.x_cuts_mm[1]

    @pytest.mark.parametrize("size", Size)
    def test_a_card_of_before_is_printed_as_it_was(self, size):
        assert "In any hall" not in page_texts(as_pdf([CARD], size))[0]


def in_a_hall(page: Image.Image, symbol: PathBox) -> Image.Image:
    """The symbol as a camera sees it: out of focus by a third of a module, under a lamp's band.

    The band takes a third of its width, and four fifths of the contrast there.
    """
    px, quiet_mm = 300 / 25.4, 3
    sides = (symbol.left, symbol.top, symbol.right, symbol.bottom)
    ways = (-quiet_mm, -quiet_mm, quiet_mm, quiet_mm)
    seen = page.crop(tuple(round((side + way) * px) for side, way in zip(sides, ways, strict=True)))
    seen = seen.filter(ImageFilter.GaussianBlur(0.2 * px))
    wide, high = seen.size
    lamp = Image.new("L", seen.size)
    band = [(0.10, 0.0), (0.45, 0.0), (0.95, 1.0), (0.60, 1.0)]
    ImageDraw.Draw(lamp).polygon([(x * wide, y * high) for x, y in band], fill=204)
    lamp = lamp.filter(ImageFilter.GaussianBlur(2 * px))
    return Image.composite(Image.new("L", seen.size, 255), seen, lamp)


class TestNames:
    @pytest.mark.parametrize(
        "name",
        [
            "Đặng Thị Mỹ Hường",
            "Ἑλένη Παπαδοπούλου",
            "Щербаківна Ґ.",
            "O’Neill-Ó Briain (Jr.)",
            "{nb}",
            "Back\\slash ((",
            "**Mira** --K--",
            "%PDF <</Type /Page>>",
            "M",
        ],
    )
    def test_they_stand_on_the_card_as_they_are_written(self, name):
        """No name is an instruction to the program that prints it."""
        card = replace(CARD, name=name, start_number="")
        for size in Size:
            assert name in one_line(page_texts(as_pdf([card], size))[0])

    def test_sixty_characters_and_five_axes_fit_an_a6(self):
        """Double surnames and titles exist."""
        text = one_line(page_texts(as_pdf([LONG_CARD], Size.A6))[0])
        assert len(LONG_CARD.name) == 60
        assert LONG_CARD.name in text
        for line in FIVE_AXES:
            assert line.mark in text
            assert line.length in text

    def test_what_has_no_room_on_the_small_card_ends_in_an_ellipsis(self):
        """A cut name is seen to be cut; the figures are whole."""
        text = one_line(page_texts(as_pdf([LONG_CARD], Size.ID1))[0])
        assert "Maximiliane-Konstantina" in text
        assert "…" in text
        for line in FIVE_AXES:
            assert line.length in text
            assert line.datum in text

    @pytest.mark.usefixtures("no_letters_beside")
    def test_a_letter_that_cards_cannot_print_is_named(self):
        """The coach reads which name and which letter, and no card is printed wrong."""
        with pytest.raises(CharacterNotInFont, match=r"U\+674E"):
            as_pdf([CARD, replace(CARD, name="李 Mei")], Size.A6)


class TestWhatIsRefused:
    def test_no_cards_at_all(self):
        """An empty PDF would be taken for a fault of the printer."""
        with pytest.raises(NoCards) as refused:
            as_pdf([], Size.A6)
        assert "Choose at least one athlete" in str(refused.value)

    @pytest.mark.parametrize("size", Size)
    def test_a_figure_is_never_cut(self, size):
        """Half a mark is another mark."""
        line = replace(UNEVEN_BARS[0], mark="between the 17th and the 18th hole, upper half")
        with pytest.raises(NoRoomOnCard) as refused:
            as_pdf([replace(CARD, lines=(line,))], size)
        assert refused.value.what == "mark"
        assert "Shorten it" in str(refused.value)

    def test_more_axes_than_there_is_room_for(self):
        """Nothing is left off the card in silence."""
        with pytest.raises(NoRoomOnCard, match="list of axes") as refused:
            as_pdf([replace(CARD, lines=FIVE_AXES * 3)], Size.ID1)
        assert refused.value.size == "ID-1"

    def test_an_address_too_long_for_the_symbol(self):
        """Whoever set up the server learns it from the first card."""
        url = f"https://{'settings.' * 8}example/K/7KM4Q2XPRTUVWXYZ23456789AB"
        with pytest.raises(AddressTooLong):
            as_pdf([replace(CARD, url=url)], Size.A6)


class TestTheFile:
    @pytest.mark.parametrize("size", Size)
    def test_the_same_cards_give_the_same_bytes(self, size):
        """Two prints of one version can be compared; a cache can be trusted."""
        once, again = (cards_pdf([CardGroup(tuple(squad(3)))], size, ENGLISH) for _ in range(2))
        assert once == again

    def test_it_asks_to_be_printed_at_its_true_size(self):
        """Fitting to the page is the largest error between this file and the paper."""
        assert b"/PrintScaling /None" in as_pdf([CARD], Size.ID1)

    def test_it_tells_title_language_and_date_and_nothing_of_the_athlete(self):
        """A file's properties travel further than its pages."""
        pdf = as_pdf([replace(CARD, issued_on=date(2026, 5, 4))], Size.A6)
        with opened(pdf) as document:
            told = document.get_metadata_dict(skip_empty=True)
        assert told["Title"] == "Setting card"
        assert told["CreationDate"].startswith("D:20260504000000")
        assert not any("Mira" in value or "hlbach" in value for value in told.values())
        assert b"/Lang (en)" in pdf

    def test_cards_keep_their_order_over_several_sheets(self):
        """Twelve small cards: ten on the first sheet and two on the second."""
        texts = page_texts(as_pdf(squad(12), Size.ID1))
        assert ["Athlete 9" in text for text in texts] == [True, False]
        assert ["Athlete 10" in text for text in texts] == [False, True]
        assert len(page_texts(as_pdf(squad(5), Size.A4_SQUAD))) == 2
        assert len(page_texts(as_pdf(squad(3), Size.A6))) == 3

    def test_two_faces_are_embedded_once_for_all_cards(self):
        """A file for a squad can be sent by mail."""
        assert as_pdf(squad(12), Size.A6).count(b"/FontFile2") == 2


class TestGroups:
    """Cards of a meet are handed out by session and rotation, or by club."""

    HEADING = "Session 1: Juniors, rotation 2, Bars by the window"

    @pytest.mark.parametrize(("size", "pages"), [(Size.A6, 14), (Size.ID1, 3), (Size.A4_SQUAD, 4)])
    def test_each_begins_a_page_and_says_what_it_is(self, size: Size, pages: int) -> None:
        groups = [CardGroup(tuple(squad(11)), self.HEADING), CardGroup(tuple(squad(3)), "Wexlow")]
        texts = [one_line(text) for text in page_texts(cards_pdf(groups, size, ENGLISH))]
        assert len(texts) == pages
        for text in texts:
            assert (self.HEADING in text) != ("Wexlow" in text)

    @pytest.mark.parametrize("size", Size)
    def test_a_request_and_the_last_day_are_on_every_size(self, size: Size) -> None:
        told = "Rails raised by 5.0 cm: asked for by the coach, 4 May 2026, not settled yet"
        card = replace(CARD, raise_request=told, counts_until=date(2026, 6, 30))
        text = one_line(page_texts(as_pdf([card], size))[0])
        assert told in text
        assert "until 30 June 2026" in text
        for line in UNEVEN_BARS:
            assert line.mark in text

    def test_every_code_of_a_meet_is_read_from_the_printed_file(self) -> None:
        """96 athletes, by an independent reader."""
        cards = squad(96)
        groups = [CardGroup(tuple(cards[:50]), "One"), CardGroup(tuple(cards[50:]), "Other")]
        found = symbols(cards_pdf(groups, Size.ID1, ENGLISH), 200)
        assert sorted(found) == sorted(card.url.upper() for card in cards)


class TestReadAloud:
    """Whoever cannot see the paper has the file read to them, part by part."""

    @pytest.mark.parametrize("size", Size)
    def test_a_card_is_read_from_its_name_to_its_code_with_the_drawing_in_words(self, size: Size):
        found = parts(as_pdf([CARD], size))
        assert "Mira K." in next(part.words for part in found if part.kind == "H1" and part.words)
        whole = [part.words for part in found]
        places = [
            next(place for place, words in enumerate(whole) if said in words)
            for said in ("Mira K.", "Low rail height", "High rail height", "Rail spread")
        ]
        assert places == sorted(places)
        assert [part.says for part in found if part.kind == "Figure"].count(CARD.drawing.in_words)

    def test_every_word_of_a_card_is_in_a_part(self):
        for size in Size:
            words = [part.words for part in parts(as_pdf([CARD], size))]
            read = "".join(" ".join(words).split())
            for said in page_texts(as_pdf([CARD], size))[0].split():
                assert said in read

    def test_each_page_has_its_own_parts(self):
        pdf = as_pdf([CARD, replace(CARD, name="Other K.")], Size.A6)
        assert any("Other K." in part.words for part in parts(pdf, 1))
        assert not any("Mira K." in part.words for part in parts(pdf, 1))


class TestWhatMustNotBeOverlooked:
    @pytest.mark.parametrize("size", Size)
    @pytest.mark.parametrize("card", SMALL_CARDS)
    def test_what_nobody_measured_is_said_on_the_card(self, card: Card, size: Size):
        """A number that was worked out looks like one that was tried."""
        text = one_line(" ".join(page_texts(as_pdf([card], size))))
        assert (UNMEASURED in text) == bool(card.unmeasured)

    @pytest.mark.parametrize("size", Size)
    @pytest.mark.parametrize("card", SMALL_CARDS)
    def test_a_note_for_the_crew_and_heights_above_the_mat_are_whole_on_every_card(
        self, card: Card, size: Size
    ):
        """The longest note there may be, and a meet of two days with other mats."""
        words = "Board left, block 20 cm, spotter right of it. " * 3
        note = f"For the crew: {words[:LONGEST]}"
        above = tuple(
            f"Above the mat, with 10.0 cm more mat than usual on {day} December 2026: 140.4 cm"
            " / 219.7 cm"
            for day in (5, 6)
        )
        pdf = as_pdf([replace(card, crew_note=note, above_mat=above)], size)
        text = one_line(" ".join(page_texts(pdf)))
        for told in (one_line(note), *above, card.unmeasured):
            assert told in text
        if size is Size.ID1:  # what stands on its back stays on it
            graduation = TEN_ID1.y_cuts_mm[-1]
            below = [line for line in lines(pdf) if line.top > TEN_ID1.y_cuts_mm[1]]
            assert all(line.top > graduation for line in below)

    @pytest.mark.parametrize("size", Size)
    @pytest.mark.parametrize("card", SMALL_CARDS)
    def test_that_nobody_has_tried_it_is_said_on_its_front(self, card: Card, size: Size):
        said = lines(as_pdf([card], size))
        middle_mm = TEN_ID1.x_cuts_mm[1] if size is Size.ID1 else 1000.0
        front = one_line(" ".join(line.words for line in said if line.left < middle_mm))
        assert ("! Not tried" in front) == bool(card.not_tried)

    def test_a_card_with_all_that_can_be_said_of_one_has_room_for_it(self):
        """Or it would not be printed at all."""
        everything = replace(LONG_CARD, lines=AS_WANTED, unmeasured=UNMEASURED)
        everything = replace(everything, raise_request=RAISED, not_tried=NOT_TRIED)
        for size in Size:
            text = one_line(" ".join(page_texts(as_pdf([everything], size))))
            assert NOT_TRIED in text
            assert "! Not tried" in text

    def test_a_card_without_room_for_it_points_to_its_back(self):
        card = replace(LONG_CARD, lines=AS_WANTED, unmeasured=UNMEASURED, raise_request=RAISED)
        said = lines(as_pdf([card], Size.ID1))
        middle_mm = TEN_ID1.x_cuts_mm[1]
        front = one_line(" ".join(line.words for line in said if line.left < middle_mm))
        back = one_line(" ".join(line.words for line in said if line.left > middle_mm))
        assert UNMEASURED in f"{front} {back}"
        assert UNMEASURED in front or "! Not all of it is measured: see the back" in front

    @pytest.mark.parametrize("size", Size)
    def test_what_is_outside_what_is_accepted_is_marked_and_no_smaller_than_the_rest(
        self, size: Size
    ):
        said = lines(as_pdf([replace(CARD, lines=AS_WANTED)], size))
        (heeded,) = [line for line in said if line.words.startswith("! Outside what")]
        taped = [line for line in said if line.words.startswith("tape 169.6")]
        accepted = [line for line in said if "170.0" in line.words]
        assert heeded.size_pt >= min(line.size_pt for line in (*taped, *accepted))


class TestAnOverfullCard:
    EVERYTHING = replace(
        MEET_CARD,
        lines=AS_WANTED,
        unmeasured=UNMEASURED,
        not_tried=NOT_TRIED,
        raise_request=RAISED,
        crew_note="For the crew: Board on the left, block of 20 cm, spotter to its right",
        above_mat=("Above the mat, with 10.0 cm more mat on 5 December 2026: 140.4 cm / 219.7 cm",),
    )

    def test_leaves_out_a_drawing_that_nobody_could_read_and_says_all_else(self):
        """The picture would be a blot, with a caption that takes room."""
        large = as_pdf([self.EVERYTHING], Size.A6)
        small = cards_pdf([CardGroup((self.EVERYTHING,))], Size.ID1, spoken("de"))
        for pdf in (large, small):
            assert CARD.drawing.in_words not in [part.says for part in parts(pdf)]
            text = one_line(" ".join(page_texts(pdf)))
            assert "window end" not in text  # from which it would be seen
            for told in (*self.EVERYTHING.heeds, self.EVERYTHING.crew_note):
                assert told in text

    def test_that_is_not_has_its_drawing(self):
        for size in Size:
            assert CARD.drawing.in_words in [part.says for part in parts(as_pdf([CARD], size))]

    def test_has_smaller_settings_before_it_is_refused(self):
        """Two days with other mats and everything else that can be said, on the largest card."""
        above = self.EVERYTHING.above_mat
        card = replace(self.EVERYTHING, above_mat=above * 2, lines=(AS_WANTED[1],) * 3)
        sizes = {line.words: line.size_pt for line in lines(as_pdf([card], Size.A6))}
        assert sizes["11"] < 22

    def test_says_on_its_front_what_is_on_its_back_alone(self):
        """Who sets by the front does not turn it over unasked."""
        card = replace(CARD, line=LINE, above_mat=self.EVERYTHING.above_mat)
        note = f"For the crew: {'Board on the left, block of 20 cm. ' * 4}"[:LONGEST]
        front, back = _halves(replace(card, crew_note=note, not_tried=NOT_TRIED, lines=AS_WANTED))
        assert "! For the crew: see the back" in front
        assert note.strip() in back
        assert (self.EVERYTHING.above_mat[0] in front) != ("Other mats: see the back" in front)

    def test_that_is_refused_says_whose_it_is(self):
        """Of the cards of a squad that is the one to be printed larger."""
        with pytest.raises(NoRoomOnCard) as refused:
            as_pdf([CARD, replace(CARD, name="Sunniva B.", lines=FIVE_AXES * 3)], Size.ID1)
        assert str(refused.value).startswith("Sunniva B.: the list of axes")


def _halves(card: Card) -> tuple[str, str]:
    """What stands on the front of a small card, and on its back."""
    said, middle_mm = lines(as_pdf([card], Size.ID1)), TEN_ID1.x_cuts_mm[1]
    front, back = (
        one_line(" ".join(line.words for line in said if (line.left > middle_mm) is behind))
        for behind in (False, True)
    )
    return front, back


class TestTheSmallCard:
    @pytest.mark.parametrize("card", SMALL_CARDS)
    def test_no_club_is_cut_off_and_nothing_is_too_small_to_be_read(self, card: Card):
        pdf = as_pdf([card], Size.ID1)
        text = one_line(page_texts(pdf)[0])
        for told in (card.club, card.model, f"Marks: {card.scale_used}"):
            assert told in text
        assert "No scan? Wipe the three corner squares." in text
        assert min(letter_sizes_pt(pdf)) >= 6
        (symbol,) = stencils(pdf)
        assert symbol.right - symbol.left >= 33 * 0.58

    @pytest.mark.parametrize("card", SMALL_CARDS)
    def test_marks_are_the_largest_of_their_lines(self, card: Card):
        """At the least 12 points, where a phone is not at hand."""
        sizes = {line.words: line.size_pt for line in lines(as_pdf([card], Size.ID1))}
        for line in card.lines:
            assert sizes[line.mark] >= 12 > sizes[f"tape {line.length}"]

    def test_a_mark_of_an_inch_ruler_is_the_largest_of_its_line_too(self):
        """Its fraction takes room, which the tape's length gives it."""
        inches = [length_in_words(mm, Unit.INCH) for mm in (1697, 2447, 1684)]
        ruled = tuple(
            replace(line, mark="66 1/2", length=length, wanted=length, accepts="± 3/8\u00a0in")
            for line, length in zip(UNEVEN_BARS, inches, strict=True)
        )
        said = lines(as_pdf([replace(CARD, lines=ruled)], Size.ID1))
        marks = {line.size_pt for line in said if line.words == "66 1/2"}
        assert min(marks) > 10 > max(line.size_pt for line in said if "tape" in line.words)

    @pytest.mark.parametrize("tag", ["de", "fr", "it", "pl"])
    def test_no_axis_takes_three_lines_in_a_language_that_has_long_words_for_it(self, tag: str):
        """Its row would be as high as two."""
        heights = tuple(
            replace(line, axis=axis.name)
            for line, axis in zip(UNEVEN_BARS, KINDS["uneven_bars"].axes, strict=True)
        )
        pdf = cards_pdf([CardGroup((replace(CARD, lines=heights),))], Size.ID1, spoken(tag))
        (name,) = [line for line in lines(pdf) if line.words == CARD.name]
        beside = [line for line in lines(pdf) if 6 < line.top - name.top < 25]
        assert sum(line.left - name.left < 1 for line in beside) <= 7

    def test_axes_of_one_datum_say_it_once(self):
        text = one_line(page_texts(as_pdf([CARD], Size.ID1))[0])
        assert text.count("both: upper edge of the rail, above the floor") == 1
        assert text.count("upper edge") == 1

    def test_it_says_what_a_tape_finds_and_what_is_wanted(self):
        text = one_line(page_texts(as_pdf([replace(CARD, lines=AS_WANTED)], Size.ID1))[0])
        assert "tape 169.6 cm wanted 170.0 ± 1.0 cm" in text
        assert "Outside what is accepted: 250.0 cm is wanted" in text
        assert "wanted 180.0 cm, nearest mark" in text

    @pytest.mark.parametrize("card", SMALL_CARDS)
    def test_its_front_bears_the_caution_or_says_where_it_is(self, card: Card):
        """The back is not looked at by whoever sets the rails from the front."""
        said = lines(as_pdf([card], Size.ID1))
        folded = any(line.words.startswith("Folded along") for line in said)
        middle_mm = TEN_ID1.x_cuts_mm[1]
        front = one_line(" ".join(line.words for line in said if line.left < middle_mm))
        told = ("Check locks and tension before use.", "Caution: see the back")
        assert any(words in front for words in told[: 2 if folded else 1])

    def test_what_has_no_room_is_on_the_back_and_the_two_halves_lie_side_by_side(self):
        """Folded it is as small as the others; each half alone would be no card."""
        cards = squad(12)
        cards[1] = replace(LONG_CARD, url=cards[1].url)
        pdf = as_pdf(cards, Size.ID1)
        texts = page_texts(pdf)
        assert ["Athlete 7" in text for text in texts] == [True, False]
        assert ["Athlete 8" in text for text in texts] == [False, True]
        said = {line.words: line for line in lines(pdf)}
        back, spreader = said["Folded along the dashed line, this is the back."], said["17"]
        middle_mm, rows_mm = TEN_ID1.x_cuts_mm[1], TEN_ID1.y_cuts_mm
        assert spreader.left < middle_mm < back.left
        assert all(rows_mm[1] < line.top < rows_mm[2] for line in (spreader, back))
        assert sorted(symbols(pdf, 200)) == sorted(card.url.upper() for card in cards)

    def test_it_says_from_which_end_it_is_drawn(self):
        """Drawn from the other end, low would be taken for high."""
        for size in Size:
            card = replace(CARD, seen_from="window end")
            assert "from the window end" in one_line(page_texts(as_pdf([card], size))[0])
