"""The room of the sheets: the squad out, and in again, looked at before anything is kept."""

import tomllib
from io import BytesIO
from pathlib import Path
from urllib.parse import urlsplit

import openpyxl
import pytest

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import models as desk_models
from settingsdesk.desk.squad import athletes
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.resources import folder
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.store.work import Store
from settingsdesk.web.frame.bodies import MOST_REQUEST_BYTES
from tests.conftest import Account, DemoClub
from tests.desk.sample_squad import join
from tests.web.conftest import signed_in
from tests.web.pages import Page, Reader, words

MODELS = {
    told["name"]: told["kind"]
    for told in tomllib.loads((folder("seed") / "models.toml").read_text(encoding="utf-8"))["model"]
}
SEED = (folder("seed") / "squad.csv").read_bytes()
HEAD = b"Family name;Given name;Group;Model;Low rail height (cm);High rail height (cm);"
HEAD += b"Rail spread (cm)\n"
LOOK, KEEP = "Check the sheet", "Save all of it"


def send(reader: Reader, content: bytes, name: str = "squad.csv") -> Page:
    return reader.get("/sheets/").send(LOOK, file=(BytesIO(content), name))


def send_large(reader: Reader, content: bytes) -> Page:
    """The test client spools large uploads into a file, which nobody else closes."""
    page = send(reader, content)
    page.response.request.environ["wsgi.input"].close()
    return page


def buttons(page: Page) -> list[str]:
    return [words(button) for button in page.tree.iter("button")]


def names(club: DemoClub, text: str) -> list[str]:
    with club.work() as session:
        return [member.listed_name for member in athletes.find(session, text)]


class TestTheWayOut:
    @pytest.mark.parametrize("name", ["squad.csv", "squad.xlsx"])
    def test_a_large_squad_is_sent_while_it_is_read_and_is_whole(
        self, demo_pages: Reader, demo_club: DemoClub, name: str
    ) -> None:
        """Nobody waits, and no memory fills, until thousands of rows are ready."""
        join(demo_club, 450)

        answer = demo_pages.client.get(f"/sheets/{name}", buffered=False)
        parts = list(answer.iter_encoded())

        assert answer.is_streamed
        assert len(parts) > 3
        assert max(map(len, parts)) < 40_000
        sheet = read_lists(b"".join(parts), name, MODELS)
        assert sheet.queries == ()
        assert len([one for one in sheet.persons if one.family_name.startswith("Zorn")]) == 450

    def test_as_workbook_it_has_the_same_rows(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        join(demo_club, 250)

        as_csv = demo_pages.client.get("/sheets/squad.csv").data
        as_xlsx = demo_pages.client.get("/sheets/squad.xlsx").data

        csv, xlsx = read_lists(as_csv, "a.csv", MODELS), read_lists(as_xlsx, "a.xlsx", MODELS)
        assert [one.shown for one in xlsx.persons] == [one.shown for one in csv.persons]
        assert [(one.row, one.column, one.value_mm) for one in xlsx.accepted] == [
            (one.row, one.column, one.value_mm) for one in csv.accepted
        ]

    @pytest.mark.parametrize(
        ("link", "name"),
        [
            ("The squad as .xlsx", f"squad-{today().isoformat()}.xlsx"),
            ("The squad as .csv", f"squad-{today().isoformat()}.csv"),
            ("An empty sheet as .xlsx", "squad-template.xlsx"),
            ("An empty sheet as .csv", "squad-template.csv"),
        ],
    )
    def test_each_paper_is_saved_under_its_name_and_can_be_read_again(
        self, link: str, name: str, demo_pages: Reader
    ) -> None:
        page = demo_pages.get("/sheets/").follow(link)
        headers = page.response.headers

        assert headers["Content-Disposition"] == f'attachment; filename="{name}"'
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Cache-Control"] == "no-store"
        sheet = read_lists(page.response.data, name, MODELS)
        assert (sheet.is_ours, sheet.queries) == (True, ())
        rows = sum(len(one.rows) for one in sheet.persons)
        assert rows == (0 if "template" in name else 30)

    def test_what_goes_out_comes_back_and_changes_nothing(self, demo_pages: Reader) -> None:
        for kind in ("xlsx", "csv"):
            content = demo_pages.get(f"/sheets/squad.{kind}").response.data
            page = send(demo_pages, content, f"squad.{kind}")
            assert "nothing would change" in page.text

    def test_a_name_like_a_formula_goes_out_as_text(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            athletes.add(session, Person("=1+1", "@home"))

        assert b"'=1+1" in demo_pages.get("/sheets/squad.csv").response.data

    def test_nobody_takes_it_without_signing_in(self, stranger: Reader) -> None:
        assert stranger.get("/sheets/squad.csv").heading == "Sign in"


class TestTheWayIn:
    def test_the_squad_of_the_seed_is_taken_whole_and_a_second_time_changes_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        renamed = SEED.replace(b"Jagna", b"Berta")
        shown = send(demo_pages, renamed)

        assert "2 rows would change something, 28 rows nothing" in shown.text
        assert "UTF-8, separated by commas" in shown.text
        assert "Row 2 Bąkiewicz, Berta" in shown.text
        assert names(demo_club, "berta") == []

        kept = shown.send(KEEP)
        assert kept.banners == ["All of it is saved: 2 rows changed something."]
        assert "Plan a rotation" in kept.links
        assert names(demo_club, "berta") == ["Bąkiewicz, Berta"]

        again = send(demo_pages, renamed)
        assert "Everything in this sheet is saved here already: nothing would change." in again.text
        assert KEEP not in buttons(again)

    def test_a_page_loaded_again_shows_the_same(self, demo_pages: Reader) -> None:
        shown = send(demo_pages, HEAD + b"Neu;Ana <b>&;Girls 2\n")

        assert demo_pages.get(shown.address).text == shown.text
        assert "Row 2 Neu, Ana <b>&" in shown.text

    def test_faults_are_named_and_nothing_can_be_kept(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        rows = "Neu;Ana;Girls 2\nAlt;Bo;Girls 2;Hall frame A;5 ft 4;240;150\n"
        shown = send(demo_pages, HEAD + rows.encode())

        assert "Nothing can be saved while one place has to be corrected." in shown.text
        assert "5 ft 4 Several values or a range stand in one cell" in shown.text
        assert "Row 2 Neu, Ana" in shown.text
        assert KEEP not in buttons(shown)
        assert names(demo_club, "neu") == []

    def test_what_is_meant_can_be_typed_where_it_is_asked(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        rows = "Alt;Bo;Girls 2;Hall frame A;1,7;240;150\nNeu;Ana;Girls 2\n"
        shown = send(demo_pages, HEAD + rows.encode())
        assert KEEP not in buttons(shown)

        anew = shown.send("Apply these answers", cell0_2_E="170")
        assert "2 rows would change something" in anew.text
        anew.send(KEEP)
        assert names(demo_club, "alt bo") == ["Alt, Bo"]

    def test_sheets_that_are_not_read_are_named(self, demo_pages: Reader) -> None:
        workbook = openpyxl.load_workbook(
            BytesIO(demo_pages.get("/sheets/squad.xlsx").response.data)
        )
        workbook.create_sheet("Juniors").append(["Family name", "Given name", "Model"])
        content = BytesIO()
        workbook.save(content)

        assert "Sheets not readJuniors" in send(demo_pages, content.getvalue(), "a.xlsx").text

    def test_only_rows_that_change_something_are_shown_at_first(self, demo_pages: Reader) -> None:
        """The way out of a squad comes back with one height changed, and that is looked at."""
        shown = send(demo_pages, SEED.replace(b"250,1,170", b"251,1,170", 1))

        assert "1 row would change something, 29 rows nothing" in shown.text
        assert "1 line of which something is asked, or which would change something" in shown.text
        assert "Row 3" not in shown.text
        assert "Row 3" in shown.follow("Show all lines").text

    def test_pressing_keep_by_hand_on_a_faulty_sheet_keeps_nothing(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        good = send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n")
        token = next(box for box in good.tree.iter("input") if box.get("name") == "csrf_token")
        faulty = send(demo_pages, HEAD + b"Neu;;Girls 2\n")

        demo_pages.post(
            f"{urlsplit(faulty.address).path}/keep",
            {"csrf_token": token.get("value"), "fingerprint": "x"},
        )

        assert names(demo_club, "neu") == []

    def test_what_changed_at_the_desk_meanwhile_is_shown_again_first(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        """The coach says yes to what stands on the page, and to nothing else."""
        shown = send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n")
        with demo_club.work(writes=True) as session:
            athletes.add(session, Person("Neu", "Ana", group_name="Girls 7"))

        again = shown.send(KEEP)

        assert again.banners == ["Nothing was saved: something has changed since. Check it again."]
        assert "Group: 'Girls 7' becomes 'Girls 2'" in again.text
        assert again.send(KEEP).heading == "Athletes"

    def test_it_can_be_let_go_of(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        shown = send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n")

        assert shown.send("Cancel this list").banners == ["Nothing of the list was saved."]
        assert demo_pages.get(shown.address).status == 410
        assert names(demo_club, "neu") == []
        assert list((demo_club.data.path / "sent").iterdir()) == []

    def test_after_keeping_the_file_is_gone(self, demo_pages: Reader, demo_club: DemoClub) -> None:
        send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n").send(KEEP)

        assert list((demo_club.data.path / "sent").iterdir()) == []

    def test_a_second_press_keeps_it_once_and_says_that_it_may_be_kept(
        self, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        shown = send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n")
        shown.send(KEEP)

        assert "it has been saved or cancelled already" in shown.send(KEEP).text
        assert names(demo_club, "neu") == ["Neu, Ana"]

    def test_another_session_cannot_open_it(
        self, demo_pages: Reader, demo_club: DemoClub, stranger: Reader
    ) -> None:
        shown = send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n")
        demo_pages.get("/account").send("Sign out")
        later = signed_in(demo_pages.app, demo_club.account)

        page = later.get(shown.address)

        assert page.status == 410
        assert "choose the file again" in page.text
        assert stranger.get(shown.address).heading == "Sign in"


class TestAnEmptySheet:
    def test_it_has_the_columns_of_the_models_known_here_only(
        self, pages: Reader, store: Store, account: Account
    ) -> None:
        """A club with bars alone need not pass by the columns of horse, rings and table."""
        assert "Ring height (cm)" in pages.get("/sheets/template.csv").response.text
        assert "No model yet" in pages.get("/sheets/").text

        told = tomllib.loads((folder("seed") / "models.toml").read_text(encoding="utf-8"))
        with store.work(account.club_id, by="Runa", writes=True) as session:
            desk_models.add_model(session, model_from_data(told["model"][0]))

        header = pages.get("/sheets/template.csv").response.text
        assert "Low rail height (cm)" in header
        assert "Ring height (cm)" not in header
        assert "No model yet" not in pages.get("/sheets/").text


BAD_FILES = {
    "empty.csv": (b"", "is empty"),
    "old.xls": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, "older format"),
    "page.xlsx": (b"<!doctype html><table><tr><td>1</table>", "is a web page"),
    "photo.csv": (b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, "is a picture"),
    "paper.csv": (b"%PDF-1.7\n", "is a PDF"),
    "broken.xlsx": (b"PK\x03\x04" + b"\x00" * 100, "broken.xlsx"),
    "named<b>.csv": (b"\x00\x01\x02\x03", "neither a workbook nor text"),
}


class TestFilesThatAreNoSheet:
    @pytest.mark.parametrize("name", BAD_FILES)
    def test_each_is_refused_in_one_line_that_says_what_to_do(
        self, name: str, demo_pages: Reader, demo_club: DemoClub
    ) -> None:
        content, what = BAD_FILES[name]

        page = send(demo_pages, content, name)

        assert page.status == 400
        (sentence,) = page.mistakes
        assert sentence.startswith(f"'{name}' ")
        assert what in sentence
        assert not (demo_club.data.path / "sent").exists()

    def test_no_file_is_asked_for(self, demo_pages: Reader) -> None:
        page = demo_pages.get("/sheets/").send(LOOK)

        assert page.mistakes == ["Choose the spreadsheet"]

    def test_a_table_that_says_nothing_of_anybody_comes_to_nothing(
        self, demo_pages: Reader
    ) -> None:
        page = send(demo_pages, b"a;b\n1;2\n")

        assert "No athlete was found on this list." in page.text
        assert "Give each column a header such as Name and High rail (cm)" in page.text

    def test_a_file_larger_than_is_read_is_refused_by_name(self, demo_pages: Reader) -> None:
        page = send_large(demo_pages, b"Family name\n" + b"x" * 10_500_000)

        assert page.mistakes[0].startswith("'squad.csv' has 10.5 MB, and 10 MB are read")

    def test_more_than_the_desk_takes_in_at_all_gets_a_page_too(self, demo_pages: Reader) -> None:
        page = send_large(demo_pages, b"x" * (MOST_REQUEST_BYTES + 1))

        assert page.status == 413
        assert page.heading == "The file is too large"

    def test_a_name_that_is_a_path_leads_nowhere(
        self, demo_pages: Reader, demo_club: DemoClub, tmp_path: Path
    ) -> None:
        shown = send(demo_pages, HEAD + b"Neu;Ana;Girls 2\n", "../../evil.csv")

        assert shown.heading == "Check the list before it is added"
        assert not list(tmp_path.rglob("evil*"))
