"""Every page is opened and every button pressed once on a server's database.

What another database answers otherwise shows first where nobody expects it: on a page that asks one
question more than its use case has a test for.
"""

from pathlib import Path

from flask import Flask

from settingsdesk.web.frame.work import OURS
from tests.conftest import DemoClub
from tests.databases import on_server
from tests.web.every_address import address_of
from tests.web.every_press import PRESSES
from tests.web.everybody import Hall, begin_runs, lay, named
from tests.web.pages import Page
from tests.web.test_statements import Presser
from tests.web.whole_desk import SMALL, one_of_everything


@on_server  # on a file tests/web/test_statements.py does that and more
def test_every_page_and_every_press_is_answered(
    demo_club: DemoClub, demo_app: Flask, tmp_path: Path
) -> None:
    hall = Hall(one_of_everything(demo_club, demo_app, tmp_path), Presser)
    searches = demo_app.extensions[OURS].searches
    begin_runs(hall, SMALL)
    unanswered: dict[str, object] = {}
    for rule in demo_app.url_map.iter_rules():
        if "GET" in (rule.methods or ()) and not rule.alias:
            lay(hall, SMALL, rule.endpoint)
            answer = hall.reader_of(rule.endpoint).client.get(address_of(hall, rule))
            if answer.status_code != 200:
                unanswered[named(rule)] = answer.status_code
            answer.close()
            searches.close()
    for name, press in PRESSES.items():
        lay(hall, SMALL, name)
        try:
            page: Page = press(hall)
            if (page.status, page.mistakes) != (200, []):
                unanswered[f"{name}, pressed"] = page.status, page.mistakes
        except Exception as fault:
            unanswered[f"{name}, pressed"] = fault
        searches.close()

    assert unanswered == {}
