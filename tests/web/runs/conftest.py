"""A run of the demo's rotation."""

import pytest

from tests.web.pages import Page, Reader
from tests.web.rotations.making import TONIGHT
from tests.web.walked import walked


@pytest.fixture
def begun(demo_pages: Reader) -> Page:
    """The demo's rotation at the bars, checked; its first athlete needs nothing moved."""

    def walk(pages: Reader) -> Page:
        page = pages.get(TONIGHT).send("Take it to the bars")
        return page.send("Checked by a second person", checker="Signe Moe", on_paper="1")

    return walked(demo_pages, "a checked run", walk)
