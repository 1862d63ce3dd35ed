"""The invented club at a terminal."""

import re
from pathlib import Path

import pypdfium2

from tests.cli.conftest import Run
from tests.conftest import DemoClub
from tests.databases import rows_in


class TestDemo:
    def test_on_an_empty_desk_it_prints_the_order_the_cards_the_address_and_how_to_sign_in(
        self, run_empty: Run, tmp_path: Path
    ) -> None:
        shown = run_empty("demo")

        assert shown.exit_code == 0, shown.output
        assert "Tonight, bars, girls 1: Bars by the window, 12 athletes" in shown.output
        assert "A meet to come: Quillmoor Lantern Cup, " in shown.output
        assert re.search(r"saves \d+:\d\d min and \d+:\d\d min", shown.output)
        assert re.search(r"Sign in as runa with the password (\w{4}-){2}\w{4}", shown.output)
        assert "a phone that scans a card gets nothing" in shown.output
        pdf = tmp_path / "empty" / "cards-of-tonight.pdf"
        assert str(pdf) in shown.output
        assert len(pypdfium2.PdfDocument(pdf)) == 12

    def test_on_a_desk_with_data_it_changes_nothing(self, run: Run, demo_club: DemoClub) -> None:
        before = rows_in(demo_club.data.where)
        shown = run("demo")

        assert shown.exit_code == 0
        assert "has data already; nothing was changed" in shown.output
        assert "settingsdesk coach password NAME" in shown.output
        assert rows_in(demo_club.data.where) == before
