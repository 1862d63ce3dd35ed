"""The report for the service company, as it comes out of the printer."""

import io
from dataclasses import replace
from datetime import date

import pytest
from PIL import Image

from settingsdesk.cards.report import MISSING, Picture, Report, Section, printable, report_pdf
from tests.cards.reading import page_sizes_mm, page_texts, stencils

REPORT = Report(
    title="Report: Bars 1",
    made_on=date(2026, 11, 25),
    facts=(("Date", "25 November 2026"), ("Further use", "doubted: out of use")),
    sections=(
        Section("Defects", (("Rail split", "left third"),)),
        Section("Released before", (), "Nothing is on record."),
    ),
    cautions="When in doubt, out of use.",
    signed_by="Edda Quill",
    address="",
)


def text(report: Report) -> str:
    return " ".join(" ".join(page_texts(report_pdf(report))).split())


class TestTheReport:
    def test_it_says_all_that_it_was_given_and_has_lines_to_sign_on(self):
        told = text(REPORT)
        for words in (
            "Report: Bars 1",
            "Date 25 November 2026",
            "Further use doubted: out of use",
            "Rail split left third",
            "Nothing is on record.",
            "When in doubt, out of use.",
            "Name Edda Quill",
            "Address",
            "Place, date",
            "Signature",
            "Page 1",
        ):
            assert words in told

    def test_it_is_a4(self):
        assert page_sizes_mm(report_pdf(REPORT)) == [pytest.approx((210, 297), abs=0.01)]

    def test_the_same_report_gives_the_same_bytes(self):
        assert report_pdf(REPORT) == report_pdf(REPORT)

    @pytest.mark.parametrize("count", [1, 40, 300])
    def test_nothing_of_a_long_one_is_lost_between_two_pages(self, count: int):
        lines = tuple(
            (f"Item {place}", f"answer {place} " + "long " * 30) for place in range(count)
        )
        told = text(replace(REPORT, sections=(Section("Results", lines),)))
        for place in range(count):
            assert f"answer {place} " in told
        assert told.count("long") == 30 * count

    def test_a_word_without_end_is_broken_and_not_cut(self):
        told = text(replace(REPORT, facts=(("Remark", "x" * 2000),)))
        assert told.replace(" ", "").count("x") >= 2000

    def test_a_character_without_a_letter_is_shown_as_missing_and_said(self):
        """A record is never lost because somebody typed a picture into it."""
        told = text(replace(REPORT, facts=(("Remark", "split 🙂 left"),)))
        assert f"split {MISSING} left" in told
        assert "stands for a character that this paper has no letter for" in told
        assert "stands for" not in text(REPORT)

    def test_accents_and_other_scripts_are_printed(self):
        assert printable("Žofie Λία Злата e\u0301") == "Žofie Λία Злата é"

    def test_photos_keep_their_shape(self):
        out = io.BytesIO()
        Image.new("RGB", (400, 200), "red").save(out, "JPEG")
        pictures = (Picture(out.getvalue(), 400, 200, "Rail split (open)"),)
        report = replace(REPORT, pictures=pictures)
        [box] = stencils(report_pdf(report))
        assert round((box.right - box.left) / (box.bottom - box.top), 2) == 2.0
        assert "Rail split (open)" in text(report)
