"""Reading without Python's search for circles, and that the search goes on afterwards."""

import gc
from collections.abc import Iterator

import pytest

from settingsdesk.sheets.collecting import without_collecting
from settingsdesk.sheets.lists.reading import read_lists
from settingsdesk.sheets.refusals import FileRefused


class TestWithoutCollecting:
    @pytest.fixture(autouse=True)
    def _collecting(self) -> Iterator[None]:
        gc.enable()
        yield
        gc.enable()

    def test_nothing_is_looked_for_in_the_block_and_again_behind_it(self) -> None:
        with without_collecting():
            assert not gc.isenabled()
        assert gc.isenabled()

    def test_a_file_that_is_refused_leaves_it_on(self) -> None:
        """A desk that runs all day would fill its memory."""
        with pytest.raises(FileRefused):
            read_lists(b"", "entries.xlsx")
        assert gc.isenabled()

    def test_whoever_found_it_off_leaves_it_off(self) -> None:
        """Two uploads at once: the one that came first lets it go on."""
        with without_collecting():
            with without_collecting():
                pass
            assert not gc.isenabled()
        assert gc.isenabled()
