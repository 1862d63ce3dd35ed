"""Converting on the page: what was asked, what it is on the other, and every slip in words."""

from urllib.parse import parse_qsl, urlsplit

import pytest

from settingsdesk.desk.hall import rule_books
from settingsdesk.domain.hall.rule_books import Rule, RuleBook, Standing
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.sample_hall import Hall, furnish
from tests.web.pages import Page, Reader


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


def begin(pages: Reader, begin_key: str, by: str) -> Page:
    return pages.get("/convert/").send("Go on", **{"from": begin_key, "by": by})


def key(hall: Hall, name: str) -> str:
    return f"model-{hall.models[name]}"


LENGTHS = {"low_rail": "165", "high_rail": "250", "spread": "150", "mat": "0"}


class TestMarks:
    def test_marks_of_an_apparatus_are_carried_to_a_model(self, pages: Reader, hall: Hall) -> None:
        """165.0 and 250.0 to the upper edge are H and I where the underside is printed."""
        page = begin(pages, f"apparatus-{hall.bars}", "marks").send(
            "Convert", low_rail="4", high_rail="5", spread="150.0", to=key(hall, "Travel frame B")
        )

        assert page.heading == "Convert from Bars 1"
        assert "Low rail heightH165.0 cm, exact" in page.text
        assert "High rail heightI250.0 cm, exact" in page.text
        assert "low rail height 165.0 cm at mark 4" in page.text
        assert "Next nearest marks" in page.text
        assert "Measure by tape after setting" in page.text

    def test_a_result_can_be_kept_as_a_bookmark(self, pages: Reader, hall: Hall) -> None:
        page = begin(pages, key(hall, "Beam A"), "marks").send("Convert", beam="90")

        assert "90.0 cm, exact" in pages.get(page.address).text
        assert page.response.request.method == "GET"

    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"low_rail": ""}, "Enter the mark of the low rail height"),
            (
                {"low_rail": "10"},
                "Low rail height: mark '10' is not on this scale: its 9 marks run",
            ),
            ({"spread": "150.5"}, "the marks beside it are 150.0 and 151.0"),
        ],
    )
    def test_an_unknown_mark_is_told_the_range(
        self, pages: Reader, hall: Hall, typed: dict[str, str], mistake: str
    ) -> None:
        good = {"low_rail": "4", "high_rail": "5", "spread": "150"}
        page = begin(pages, key(hall, "Hall frame A"), "marks").send("Convert", **{**good, **typed})

        assert page.status == 400
        assert mistake in page.mistakes[0]


class TestLengths:
    def test_lengths_in_any_datum_become_the_same_setting(self, pages: Reader, hall: Hall) -> None:
        page = begin(pages, key(hall, "Hall frame A"), "lengths").send(
            "Convert",
            height_datum="mat-underside",
            spread_datum="centres_diagonal",
            low_rail="141",
            high_rail="226",
            spread="154",
            mat="20",
            to=key(hall, "Travel frame B"),
        )

        assert "Low rail heightH165.0 cm, exact" in page.text
        assert "Upper edge of the rail, above the mat145.0 cm" in page.text
        assert "Shortest distance between the rails' inner faces150.0 cm" in page.text

    def test_each_answer_says_from_where_and_once_more_as_it_was_asked(
        self, pages: Reader, hall: Hall
    ) -> None:
        """Over the mats that lie there: whoever tapes from another mat sets it 10 cm wrong."""
        page = begin(pages, key(hall, "Hall frame A"), "lengths").send(
            "Convert",
            height_datum="mat-upper",
            spread_datum="inner",
            low_rail="160",
            high_rail="245",
            spread="150",
            mat="5",
            to=f"apparatus-{hall.bars}",
        )
        assert (
            "165.0 cm, exact. By tape: upper edge of the rail, above the floor. Held as for what"
            " you asked: 145.0 cm, upper edge of the rail, above the mat (mats 20.0 cm)"
        ) in page.text
        assert "By tape: shortest distance between the rails' inner faces" in page.text

    def test_lengths_can_be_in_the_other_unit(self, pages: Reader, hall: Hall) -> None:
        """A list in inches, and a club that reads centimetres."""
        page = begin(pages, key(hall, "Hall frame A"), "in")
        assert "Low rail height, in inches" in page.text
        page = page.send(
            "Convert",
            low_rail="65",
            high_rail='98 3/8"',
            spread="59",
            mat="0",
            to=key(hall, "Travel frame B"),
        )
        assert "must be in" not in page.text
        assert "165.1 cm" in page.text

    def test_whatever_is_left_out_of_the_question_is_asked_for(
        self, pages: Reader, hall: Hall
    ) -> None:
        """An address that somebody kept, or cut short, is no fault of the desk."""
        whole = begin(pages, key(hall, "Hall frame A"), "lengths").send("Convert", **LENGTHS)
        told = parse_qsl(urlsplit(whole.address).query)
        assert len(told) > len(LENGTHS)
        for name, _ in told:
            others = [(other, value) for other, value in told if other != name]
            answer = pages.client.get(urlsplit(whole.address).path, query_string=dict(others))
            assert answer.status_code < 500, name

    def test_a_length_that_may_be_a_slip_is_converted_and_asked_about(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = begin(pages, key(hall, "Hall frame A"), "lengths")
        page = page.send("Convert", **LENGTHS | {"low_rail": "90", "high_rail": "180"})
        assert "Low rail height: 90.0 cm was read, 100.0 to 300.0 cm is usual" in page.text
        assert page.status == 200

    def test_a_comma_is_read(self, pages: Reader, hall: Hall) -> None:
        page = begin(pages, key(hall, "Hall frame A"), "lengths")
        page = page.send("Convert", **LENGTHS | {"low_rail": "162,5"})

        assert page.status == 200
        assert "162.5 cm" in page.text

    @pytest.mark.parametrize(
        ("typed", "mistake"),
        [
            ({"low_rail": ""}, "Enter the low rail height"),
            ({"low_rail": "low"}, "Low rail height must be a number, like 250 or 247.5; 'low' was"),
            ({"low_rail": "1 62"}, "was read as '1 62': a number has no gap, type 162"),
            ({"low_rail": "5 ft 4"}, "'5 ft 4' was read: feet are not read"),
            ({"low_rail": "-162"}, "Low rail height must not be below zero"),
            ({"low_rail": "1650"}, "must be at most 400.0 cm; 1650.0 was read"),
            ({"low_rail": "260"}, "Low rail height (260.0 cm) must be less than high rail height"),
            ({"spread": "60"}, "A spread of 60.0 cm cannot be: the rails are 85.0 cm apart"),
            ({"accepts": "60"}, "The accepted deviation must be between 0 and 50.0 cm"),
            ({"mat": "thick"}, "Mats under it must be a number"),
            ({"height_datum": "ceiling-upper"}, "Choose where the heights are taken to"),
            ({"to": "apparatus-99"}, "Choose where you convert to"),
        ],
    )
    def test_bad_input_says_where_what_was_read_and_what_to_do(
        self, pages: Reader, hall: Hall, typed: dict[str, str], mistake: str
    ) -> None:
        page = begin(pages, key(hall, "Hall frame A"), "lengths")
        page = page.send("Convert", **{**LENGTHS, **typed})

        assert page.status == 400
        assert any(mistake in sentence for sentence in page.mistakes), page.mistakes
        (high,) = page.having("name", "high_rail")
        assert high.get("value") == "250"


class TestWarnings:
    def test_what_the_other_does_not_reach_is_said(self, pages: Reader, hall: Hall) -> None:
        page = begin(pages, key(hall, "Beam A"), "lengths").send(
            "Convert", beam="140", mat="0", to=f"apparatus-{hall.beam}"
        )

        assert "this apparatus does not reach it; its last mark is 15.0 cm too low" in page.text

    def test_more_than_is_accepted_is_said_where_something_was(
        self, pages: Reader, hall: Hall
    ) -> None:
        page = begin(pages, key(hall, "Beam A"), "lengths")
        assert "Not what is asked for" not in page.send("Convert", beam="102", mat="0").text

        page = page.send("Convert", beam="102", mat="0", accepts="1")
        assert "Beam height: 2.0 cm under what is wanted; 1.0 cm is accepted" in page.text

    def test_half_way_names_both_marks(self, pages: Reader, hall: Hall) -> None:
        page = begin(pages, key(hall, "Beam A"), "lengths").send("Convert", beam="105", mat="0")

        assert "Beam height is half-way between 100 and 110: 100 was taken" in page.text

    def test_outside_a_rule_book_comes_with_its_source(
        self, pages: Reader, store: Store, hall: Hall
    ) -> None:
        """The number stays as it is; the coach is told whom to ask."""
        rule = Rule(
            "balance_beam", "beam", "senior", 1240, 1260, "a page", "2020", Standing.SECONDARY
        )
        with store.work(hall.club_id, by="Edda", writes=True) as session:
            rule_books.keep_book(session, RuleBook("As quoted", (rule,)))
        page = begin(pages, key(hall, "Beam A"), "lengths")
        assert "Outside a rule book" not in page.send("Convert", beam="90", mat="0").text

        page = page.send("Convert", beam="90", mat="0", level="senior")
        assert "Beam height 90.0 cm is outside 124.0 to 126.0 cm (a page, 2020;" in page.text
        assert "no number was changed" in page.text


class TestChoosing:
    def test_only_the_same_kind_is_offered(self, pages: Reader, hall: Hall) -> None:
        page = begin(pages, key(hall, "Parallel frame A"), "marks")

        assert "Parallel frame B (model)" in page.text
        assert "Travel frame B (model)" not in page.text

    @pytest.mark.parametrize("name", ["Horse A", "Table A", "Ring frame A", "Parallel frame B"])
    def test_every_kind_is_converted(self, pages: Reader, hall: Hall, name: str) -> None:
        """An apparatus of one axis, or of three along the floor, works the same way."""
        first = {
            "Horse A": {"body": "A", "pommels": "40"},
            "Table A": {"table": "3", "board": "100", "run_up": "2000"},
            "Ring frame A": {"rings": "9"},
            "Parallel frame B": {"rails": "r", "spread": "50"},
        }[name]
        page = begin(pages, key(hall, name), "marks").send("Convert", **first)

        assert page.status == 200
        assert "exact" in page.text
        assert "From where to where" in page.text

    @pytest.mark.parametrize(
        ("address", "mistake"),
        [
            ("/convert/?from=", "Choose where you convert from"),
            ("/convert/?from=model-999", "Choose where you convert from"),
            ("/convert/?from=model-1&by=guess", "Choose marks or lengths"),
        ],
    )
    def test_an_address_that_names_nothing_asks_again(
        self, pages: Reader, hall: Hall, address: str, mistake: str
    ) -> None:
        page = pages.get(address)
        assert page.status == 400
        assert page.mistakes == [mistake]

    def test_with_nothing_to_convert_it_says_what_to_do(self, pages: Reader) -> None:
        assert "There is nothing to convert yet: add the models" in pages.get("/convert/").text
