"""The word for all that a page at the apparatus shows."""

import os
import subprocess
import sys
from dataclasses import dataclass, field
from types import MappingProxyType

import pytest

from settingsdesk.desk.runs.state import state_of


@dataclass(frozen=True)
class Shown:
    moved: frozenset[object]
    row: object = field(default=None, repr=False)


class TestTheWord:
    def test_it_is_another_one_for_another_value_wherever_that_is(self) -> None:
        told = [
            (1, "a"),
            (1, "b"),
            ("1", "a"),
            ((1,), "a"),
            (Shown(frozenset({1})), "a"),
            (Shown(frozenset({2})), "a"),
            (MappingProxyType({1: Shown(frozenset({1}))}), "a"),
            (MappingProxyType({1: Shown(frozenset({2}))}), "a"),
        ]
        assert len({state_of(*one) for one in told}) == len(told)

    def test_what_a_class_does_not_say_is_not_in_it(self) -> None:
        """A row that was read is another object in every request."""
        assert state_of(Shown(frozenset(), object())) == state_of(Shown(frozenset(), object()))

    @pytest.mark.parametrize("kind", [set, frozenset])
    def test_a_set_has_no_order(self, kind: type) -> None:
        """0 and 8 share a place in a small set, so that its order is that of putting them in."""
        assert state_of(kind([0, 8])) == state_of(kind([8, 0]))
        assert state_of({1: Shown(frozenset([0, 8]))}) == state_of({1: Shown(frozenset([8, 0]))})

    def test_it_is_the_same_after_a_restart(self) -> None:
        """Ends that were moved are a set of words: a page that is still true is not called old."""
        asked = (
            "from settingsdesk.desk.runs.state import state_of;"
            "print(state_of(frozenset((n, end) for n in range(3) for end in ('left', 'right'))))"
        )
        words = {
            subprocess.run(
                [sys.executable, "-c", asked],
                env=os.environ | {"PYTHONHASHSEED": seed},
                check=True,
                capture_output=True,
                text=True,
            ).stdout
            for seed in ("1", "2", "3")
        }
        assert len(words) == 1
