"""A page that is to show within two of its seconds what happened: its clock is held by the test."""

from datetime import datetime, timedelta

from playwright.sync_api import Page, Request

MOST_WAITS = 400  # of a twentieth of a second


class TwoSeconds:
    """Two seconds of a page's own clock, as soon as no question from before is on its way.

    The answer to such a one is of before what happened, and the clock that a test holds does not
    go on by itself: on a busy machine nothing more would ever be asked.
    """

    def __init__(self, page: Page) -> None:
        self.page, self.asked = page, 0
        page.on("request", self._count)
        page.clock.install()
        page.reload()
        page.clock.pause_at(datetime.now().astimezone() + timedelta(hours=1))

    def pass_by(self) -> None:
        before = self.asked
        for _ in range(MOST_WAITS):
            self.page.clock.run_for(2000)
            if self.asked > before:
                return
            self.page.wait_for_timeout(50)
        raise AssertionError("the page asks nothing any more")

    def _count(self, request: Request) -> None:
        self.asked += request.url.endswith("/latest")
