"""Answers kept in memory: the very same at the same revision, bounded in number."""

from pathlib import Path

import pytest

from settingsdesk.desk.workers import SeveralWorkers
from settingsdesk.web.frame.kept import Kept


def refuse() -> str:
    raise LookupError("no such thing")


class TestAnAnswer:
    def test_is_worked_out_once_for_one_revision(self) -> None:
        kept, worked_out = Kept(), iter(["first", "second"])

        assert kept.answer("card", 1, lambda: next(worked_out)) == "first"
        assert kept.answer("card", 1, lambda: next(worked_out)) == "first"

    def test_of_any_other_revision_is_not_given(self) -> None:
        """Numbers are drawn: a lower one is as new as a higher one."""
        kept = Kept()
        kept.answer("card", 5, lambda: "old")

        assert kept.answer("card", 4, lambda: "new") == "new"
        assert kept.answer("card", 5, lambda: "anew") == "anew"

    def test_that_was_refused_is_asked_for_again(self) -> None:
        kept = Kept()
        with pytest.raises(LookupError):
            kept.answer("card", 1, refuse)

        assert kept.answer("card", 1, lambda: "there") == "there"


class TestManyAnswers:
    def test_those_not_asked_for_longest_are_let_go_of(self) -> None:
        """Whoever asks for a card on a million apparatus takes no memory by it."""
        kept = Kept(most=2)
        for card in ("a", "b"):
            kept.answer(card, 1, lambda card=card: card)  # type: ignore[misc]
        kept.answer("a", 1, refuse)
        kept.answer("c", 1, lambda: "c")

        assert kept.answer("a", 1, refuse) == "a"
        with pytest.raises(LookupError):
            kept.answer("b", 1, refuse)


class TestForgetting:
    def test_all_workers_let_go_of_their_answers(self, tmp_path: Path) -> None:
        """What was erased by way of one stays in the memory of none."""
        one, other = (Kept(SeveralWorkers(tmp_path / "workers")) for _ in range(2))
        for kept in (one, other):
            kept.answer("card", 1, lambda: "somebody")
        other.forget_where_told()
        assert other.answer("card", 1, refuse) == "somebody"

        one.forget()
        other.forget_where_told()

        for kept in (one, other):
            with pytest.raises(LookupError):
                kept.answer("card", 1, refuse)
