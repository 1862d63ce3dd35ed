"""Folders that stand beside the package in the checkout, and inside it once installed."""

from pathlib import Path
from typing import Literal

from settingsdesk.domain.base.errors import SettingsDeskError

PACKAGE = Path(__file__).parent


class FolderMissing(SettingsDeskError):
    """The installation lacks a folder that it was built with."""

    def __init__(self, name: str, looked_in: tuple[Path, ...]):
        self.name, self.looked_in = name, looked_in

    def __str__(self) -> str:
        places = " nor ".join(str(place) for place in self.looked_in)
        return f"The folder '{self.name}' is neither at {places}. Install settingsdesk again"


def folder(name: Literal["templates", "seed"]) -> Path:
    """The folder of that name: inside the installed package, or beside it in the checkout.

    Raises ``FolderMissing``, which names both places.
    """
    places = (PACKAGE / name, PACKAGE.parent / name)
    for place in places:
        if place.is_dir():
            return place
    raise FolderMissing(name, places)
