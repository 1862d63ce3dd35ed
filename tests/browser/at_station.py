"""What a volunteer does on a phone at a station."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

Phone = Callable[..., Page]
"""Lets one phone after the other in, by the name of its holder."""

NOT_OURS = (
    "responded with a status of 4",
    "ERR_INTERNET_DISCONNECTED",
    "ERR_FAILED",
    "Cleared data types",
    "Service Worker registration blocked",
)
"""What the console says of refusals, of no network, of copies cleared, of no worker allowed."""


COPIED = """async () => {
    const isThere = async () => {
        const shown = document.querySelector("[data-state]").dataset.state;
        const copy = await (await caches.match(location.pathname))?.text();
        return copy?.includes(`data-state="${shown}"`);
    };
    while (!(await isThere())) await new Promise((again) => setTimeout(again, 50));
    await navigator.serviceWorker.ready;
}"""


def wait_for_copy(page: Page) -> None:
    """Until the phone keeps a copy of this page as it is shown, and who shows it."""
    page.evaluate(COPIED)


def heading(page: Page) -> object:
    return expect(page.get_by_role("heading", level=1))


def confirm(page: Page, words: str) -> None:
    """Confirm, and wait until the page shows what comes after it."""
    state = page.locator(".station").get_attribute("data-state")
    page.get_by_role("button", name=words).first.click()
    expect(page.locator(".station")).not_to_have_attribute("data-state", state or "")


def begin(page: Page) -> None:
    """Begin the first rotation, which the meet has on another day."""
    page.locator("#of-day").check()
    confirm(page, "Begin rotation 1")


def set_and_check(page: Page, who: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text(who)
    if page.get_by_role("button", name="All steps are done").count():
        confirm(page, "All steps are done")
    if page.get_by_role("button", name="Checked by a second person").count():
        if (box := page.locator(".answers #checker")).count():
            box.fill("Signe Moe")
        confirm(page, "Checked by a second person")
    heading(page).to_have_text(f"{who} is on")


def hold_out(page: Page, typed: str) -> None:
    """As a hand-held reader does: the letters, then Enter."""
    box = page.get_by_label("Scan a card")
    box.fill(typed)
    box.press("Enter")


def back(page: Page) -> None:
    page.get_by_role("link", name="Back to the station").click()
    expect(page.get_by_role("heading", name="The turns to come")).to_be_visible()
