"""What is pressed at the bars, step by step and turn by turn."""

from tests.web.pages import Page, words

RUN, CONFIRM = "/bars/1", "/bars/1/confirm"

READ_OFF = {"low_rail": "3", "high_rail": "4", "spread": "150"}
"""The marks at which the apparatus was found."""


def set_next(page: Page, **ticked: str) -> Page:
    """Through the change-over and its check, until the next athlete is on."""
    if "Set for" in page.heading:
        page = page.send("All steps are done")
    return page.send("Checked alone", **ticked) if "Check before" in page.heading else page


def post(page: Page, address: str, **values: object) -> Page:
    """What a page that was open for long, or no page of ours, could send."""
    token = next(box for box in page.tree.iter("input") if box.get("name") == "csrf_token")
    return page.reader.post(address, {"csrf_token": token.get("value"), **values})


def done(page: Page) -> Page:
    """The step that is to be done now, confirmed."""
    buttons = [words(button) for button in page.tree.iter("button")]
    return page.send(next(said for said in buttons if said.startswith("Done")))


def over(page: Page, turns: int) -> Page:
    """So many turns later."""
    for _ in range(turns):
        page = set_next(page).send("The turn is over")
    return page


def set_to_check(begun: Page) -> Page:
    """The second athlete's marks are set, and to be checked."""
    return begun.send("The turn is over").send("All steps are done")
