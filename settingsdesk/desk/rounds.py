"""What a desk does by itself while it is served, again and again."""

import logging
import threading
from collections.abc import Callable

from settingsdesk.domain.base.errors import SettingsDeskError

log = logging.getLogger(__name__)


class Rounds:
    """A thread that does one thing every so often, until it is closed.

    What is refused, or a disk that does not do as it should, is logged by its name, and it is tried
    again in the next round.
    """

    def __init__(self, name: str, do: Callable[[], object], every_seconds: float):
        self._do, self._every_seconds = do, every_seconds
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        """Begin; the first round is at once."""
        self._thread.start()

    def close(self) -> None:
        """End after the round that is under way."""
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._over.is_set():
            try:
                self._do()
            except (SettingsDeskError, OSError) as refusal:
                log.warning("%s: tried again later: %s", self._thread.name, type(refusal).__name__)
            self._over.wait(self._every_seconds)
