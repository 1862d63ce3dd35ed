"""The folders outside the package are found in a checkout and in an installation alike."""

from pathlib import Path

import pytest

from settingsdesk import resources
from settingsdesk.resources import FolderMissing, folder


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A package folder of its own, so that a test can decide what stands in and beside it."""
    package = tmp_path / "place" / "settingsdesk"
    package.mkdir(parents=True)
    monkeypatch.setattr(resources, "PACKAGE", package)
    return package


class TestFolder:
    def test_in_a_checkout_it_is_the_one_beside_the_package(self, installed: Path):
        """Whoever edits a template in the checkout sees it at the next request."""
        (installed.parent / "seed").mkdir()
        assert folder("seed") == installed.parent / "seed"

    def test_once_installed_it_is_the_one_inside_the_package(self, installed: Path):
        """Another program's ``templates`` beside the installed package is not ours."""
        (installed.parent / "templates").mkdir()
        (installed / "templates").mkdir()
        assert folder("templates") == installed / "templates"

    def test_a_missing_one_is_an_error_that_names_both_places(self, installed: Path):
        """Whoever installed an incomplete package reads where it was looked for."""
        with pytest.raises(FolderMissing) as refused:
            folder("seed")
        assert str(installed / "seed") in str(refused.value)
        assert str(installed.parent / "seed") in str(refused.value)
