"""Answers that are kept in memory for as long as nothing was written that they depend on."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, TypeVar

from settingsdesk.desk.workers import OneWorker, Workers

FORGET = "forget"
"""What a worker tells the others when something was erased."""

MOST_ANSWERS = 2000
"""A meet's cards on every apparatus; as pages of 8 kB they take 16 MB."""

T = TypeVar("T")


class Kept:
    """The answers of one process, the last asked for; each with the revision it was worked out at.

    An answer is given again only where the revision is still the very same, so one that is old is
    never given, whoever wrote and in whichever process.
    """

    def __init__(self, workers: Workers | None = None, most: int = MOST_ANSWERS) -> None:
        self._workers, self._most = workers or OneWorker(), most
        self._told = self._workers.told(FORGET)
        self._answers: OrderedDict[Hashable, tuple[Hashable, Any]] = OrderedDict()
        self._lock = Lock()

    def answer(self, question: Hashable, revision: Hashable, work_out: Callable[[], T]) -> T:
        """The answer to a question at a revision that was read before, kept or worked out now.

        ``question`` holds everything that the answer depends on besides the records: who asks, in
        which words, on which day. ``revision`` is the club's, or that half of it which the answer
        is worked out from, as the request that asks has found it. What ``work_out`` raises is not
        kept.
        """
        with self._lock:
            known = self._answers.get(question)
            if known and known[0] == revision:
                self._answers.move_to_end(question)
                return known[1]  # type: ignore[no-any-return]  # what work_out gave before
        answer = work_out()
        with self._lock:
            self._answers[question] = (revision, answer)
            self._answers.move_to_end(question)
            while len(self._answers) > self._most:
                self._answers.popitem(last=False)
        return answer

    def forget(self) -> None:
        """Let go of every answer: of what was erased, none stays in memory either."""
        self._workers.tell(FORGET)
        self.forget_where_told()

    def forget_where_told(self) -> None:
        """The same where another worker has let go of its answers since this was asked last."""
        told = self._workers.told(FORGET)
        if told != self._told:
            with self._lock:
                self._told = told
                self._answers.clear()
