"""What a desk does by itself while it is served, again and again."""

import logging
import threading
from collections.abc import Callable

from settingsdesk.domain.base.errors import SettingsDeskError

log = logging.getLogger(__name__)


ASKS_EVERY_SECONDS = 10.0
"""So often a worker asks whether the rounds have become its own."""


class Rounds:
    """A thread that does one thing every so often, until it is closed.

    Of several workers that serve one desk only one does it: the first, until its process ends.

    What is refused, or a disk that does not do as it should, is logged by its name, and it is tried
    again in the next round.
    """

    def __init__(self, name: str, do: Callable[[], object], every_seconds: float):
        self._do, self._every_seconds = do, every_seconds
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self, are_ours: Callable[[], bool] = lambda: True) -> None:
        """Begin; the first round is at once, or as soon as they ``are_ours``."""
        self._are_ours = are_ours
        self._thread.start()

    def close(self) -> None:
        """End after the round that is under way."""
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._over.is_set():
            if not self._are_ours():
                self._over.wait(ASKS_EVERY_SECONDS)
                continue
            try:
                self._do()
            except (SettingsDeskError, OSError) as refusal:
                log.warning("%s: tried again later: %s", self._thread.name, type(refusal).__name__)
            self._over.wait(self._every_seconds)
