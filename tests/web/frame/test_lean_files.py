"""What goes to phones is what stands in the files, less what is said to whoever reads them."""

import re

import pytest
from flask import Flask

from settingsdesk.web.app import STATIC
from settingsdesk.web.frame.lean_files import lean, lean_files

FILES = sorted(file for file in STATIC.iterdir() if file.suffix in (".css", ".js"))


class TestAFile:
    @pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
    def test_has_every_rule_and_every_statement_that_it_had(self, file) -> None:
        """But for the comments: whatever is left out begins with their sign."""
        before, after = file.read_text("utf-8"), lean(file).decode()
        assert "/*" not in after or file.suffix == ".js"
        if file.suffix == ".css":
            assert re.sub(r"/\*.*?\*/|\s", "", before, flags=re.DOTALL) == re.sub(r"\s", "", after)
        else:
            left = iter(after.splitlines())
            kept = next(left, None)
            for line in before.splitlines():
                if kept is not None and line.startswith(kept) and kept.strip():
                    assert line[len(kept) :].strip()[:2] in ("", "//"), line
                    kept = next(left, None)
                else:
                    assert line.strip()[:2] in ("", "//"), line
            assert kept is None

    def test_is_sent_so_and_not_again_to_who_has_it(self, app: Flask) -> None:
        client = app.test_client()
        answer = client.get("/static/frame.css")
        assert answer.data == lean_files(STATIC)["frame.css"]
        assert answer.content_type == "text/css; charset=utf-8"
        again = client.get("/static/frame.css", headers={"If-None-Match": answer.headers["ETag"]})
        assert again.status_code == 304

    def test_that_is_a_picture_is_sent_as_it_is(self, app: Flask) -> None:
        answer = app.test_client().get("/static/mark.svg")
        assert answer.data == (STATIC / "mark.svg").read_bytes()
        answer.close()
