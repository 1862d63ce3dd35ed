"""What is pressed on a phone at a station."""

from xml.etree.ElementTree import Element

from settingsdesk.web.frame.security import SCRIPT_HEADER
from tests.web.pages import Page


def set_and_check(page: Page) -> Page:
    """Until somebody is on."""
    if "Set for" in page.heading:
        page = page.send("All steps are done")
    if "Check before" in page.heading:
        page = page.send("Checked by a second person", checker="Signe Moe")
    assert "is on" in page.heading
    return page


def turns(page: Page) -> list[Element]:
    """The lines of the turns to come."""
    [listed] = [one for one in page.having("class", "turns") if one.tag == "ol"]
    return list(listed.iter("li"))


NEXT_BUTTON = {"Set for": "steps", "Check before": "second", "is on": "over"}
"""The word of the main button, by what the heading says."""


def press(page: Page, word: str) -> None:
    """Press a button as the station's script does: the next page is the answer."""
    form = next(form for form in page.tree.iter("form") if form.get("id") == "confirm")
    sent = {box.get("name"): box.get("value") for box in form.iter("input")}
    headers = {SCRIPT_HEADER: "script"}
    answer = page.reader.client.post("/station/confirm", data={**sent, "do": word}, headers=headers)
    assert answer.status_code == 200
