"""The life of a finding goes forwards, and ends with a reason."""

import pytest

from settingsdesk.domain.checks.findings import (
    NoSuchStep,
    ReasonMissing,
    Step,
    StepIsOver,
    must_be_next,
    next_steps,
    step_of,
)


class TestTheLifeOfAFinding:
    def test_it_may_skip_what_was_not_needed_but_never_go_back(self):
        """A coach who tightens a nut need not report it first."""
        assert next_steps([Step.OPEN]) == (Step.REPORTED, Step.REPAIRED, Step.RELEASED)
        assert next_steps([Step.OPEN, Step.REPAIRED]) == (Step.RELEASED,)
        assert next_steps(list(Step)) == ()

    def test_a_step_that_lies_behind_is_refused_and_what_is_left_is_said(self):
        with pytest.raises(StepIsOver, match="cannot become reported any more: it can still be r"):
            must_be_next([Step.OPEN, Step.REPAIRED], Step.REPORTED, "")

    def test_after_the_release_nothing_follows(self):
        with pytest.raises(StepIsOver, match="its life has ended"):
            must_be_next([Step.OPEN, Step.RELEASED], Step.REPAIRED, "")

    @pytest.mark.parametrize("remark", ["", "  \n "])
    def test_a_release_without_a_reason_is_refused(self, remark: str):
        """Somebody will stand on that rail because of it."""
        with pytest.raises(ReasonMissing, match="who looked at it"):
            must_be_next([Step.OPEN], Step.RELEASED, remark)

    def test_a_step_that_there_is_not_is_refused(self):
        with pytest.raises(NoSuchStep, match="open, reported, repaired, released"):
            step_of("forgotten")
