"""How much a request may bring, page by page, and how many fields."""

import pytest
from flask import Flask

from settingsdesk.resources import folder
from settingsdesk.web.frame import bodies
from settingsdesk.web.frame.security import OPEN_ENDPOINTS, STATION_ENDPOINTS
from tests.web.pages import Reader

FORM = "application/x-www-form-urlencoded"


class TestHowMuch:
    def test_a_page_whose_form_carries_a_file_takes_one(self) -> None:
        """Each template with such a form belongs to a view that is named here, and no other is."""
        of_files = {
            "/".join(file.relative_to(folder("templates")).with_suffix("").parts[1:])
            for file in folder("templates").rglob("*.html")
            if "post_form(upload=true" in file.read_text(encoding="utf-8")
        }
        views = {"begin": "checks.begin", "findings/show": "findings.show"}
        named = {views.get(name, name.replace("/", ".")) for name in of_files}

        assert named == bodies.FILE_ENDPOINTS | bodies.PHOTO_ENDPOINTS

    def test_a_stranger_sends_a_few_lines_wherever_it_is(self, app: Flask) -> None:
        for rule in app.url_map.iter_rules():
            most = bodies.most_bytes(rule.endpoint, signed_in=False)
            assert most == bodies.MOST_OF_A_STRANGER_BYTES, rule

    def test_who_is_signed_in_sends_no_more_to_strangers_pages(self) -> None:
        """Whoever has a coach's cookie could fill the disk by them otherwise."""
        for endpoint in OPEN_ENDPOINTS | STATION_ENDPOINTS | {None}:
            most = bodies.most_bytes(endpoint, signed_in=True)
            assert most == bodies.MOST_OF_A_STRANGER_BYTES, endpoint

    def test_no_strangers_page_has_a_form_that_is_longer(self) -> None:
        """The longest holds a remark, in which each letter may become twelve when it travels."""
        assert bodies.MOST_OF_A_STRANGER_BYTES > 1000 * 12 * 2


class TestFields:
    @pytest.mark.parametrize(("fields", "status"), [(9_000, 400), (10_001, 413), (400_000, 413)])
    def test_they_are_counted_before_they_are_read(
        self, pages: Reader, fields: int, status: int
    ) -> None:
        """400: read, and without the form's token. A name and a value for each is work."""
        body = b"a&" * (fields - 1) + b"a"

        answer = pages.client.post("/account", data=body, content_type=FORM)

        assert answer.status_code == status

    def test_typed_fields_hold_a_megabyte_where_a_file_may_hold_more(self, pages: Reader) -> None:
        body = b"a=" + b"x" * bodies.MOST_FORM_BYTES

        assert pages.client.post("/sheets/", data=body, content_type=FORM).status_code == 413
