"""The order on paper: what hangs at the apparatus says what the rotation's page says."""

from dataclasses import replace

import pytest

from settingsdesk.desk.clock import now
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_paper import CAUTIONS, NOTHING_TO_MOVE, order_papers
from settingsdesk.desk.rotations.view import OrderIsNone, RotationView
from settingsdesk.domain.base.units import Unit
from tests.conftest import DemoClub


@pytest.fixture
def tonight(demo_club: DemoClub) -> RotationView:
    with demo_club.work() as session:
        return desk_rotation.rotation(session, 1)


class TestThePaper:
    def test_has_every_turn_with_its_marks_lengths_and_what_to_move(
        self, tonight: RotationView
    ) -> None:
        assert tonight.ordered is not None
        [lane] = tonight.ordered.best.lanes
        [paper] = order_papers(tonight, Unit.CENTIMETRE, now())

        assert [row.name for row in paper.rows] == [
            tonight.called[turn.member.id] for turn in lane.turns
        ]
        for row, turn in zip(paper.rows, lane.turns, strict=True):
            assert [mark for mark, _ in row.marks] == list(turn.model.marks(turn.setup).values())
            assert all(length.endswith(" cm") for _, length in row.marks)
            still = turn.start == turn.setup
            assert (row.moves == (NOTHING_TO_MOVE,), row.seconds == "") == (still, still)
        assert sum(int(row.seconds or 0) for row in paper.rows) == lane.seconds
        assert paper.cautions == CAUTIONS
        assert "from 5 / 5 / 170.0" in paper.above[2]

    def test_lengths_are_in_the_clubs_unit(self, tonight: RotationView) -> None:
        [paper] = order_papers(tonight, Unit.INCH, now())
        assert all(length.endswith("\u00a0in") for row in paper.rows for _, length in row.marks)

    def test_what_nobody_measured_is_said_once_where_it_holds_for_most_else_beside_the_turn(
        self, demo_club: DemoClub
    ) -> None:
        """What stands on every line is read on none; who is an exception stands with it."""
        with demo_club.work(writes=True) as session:
            tonight = desk_rotation.rotation(session, 1)
            door = next(
                piece
                for piece in apparatus.pieces_of_kind(session, "uneven_bars")
                if piece.name == "Bars by the door"
            )
            listed = [member.id for member in tonight.listed]
            made = desk_rotation.add_rotation(session, "", tonight.held_on, door.id, listed)
            view = desk_rotation.order_anew(session, made.id)
            [paper] = order_papers(view, Unit.CENTIMETRE, now())
        unmeasured = {
            view.called[one]: carried.unmeasured for one, carried in view.carried[door.id].items()
        }
        (of_most,) = (line for line in paper.above if line.startswith("For all but"))
        others, _, said = of_most.partition(": ")
        holds_for = [name for name, words in unmeasured.items() if f"{words}." == said]

        assert len(holds_for) > len(unmeasured) / 2
        for row in paper.rows:
            assert (row.name in others) == (row.name not in holds_for)
            told = [note for note in row.notes if "not measured here" in note]
            says = unmeasured[row.name] if row.name in others else ""
            assert told == list(filter(None, [says]))

    def test_there_is_none_of_an_order_that_counts_no_more(self, tonight: RotationView) -> None:
        for without in (
            replace(tonight, ordered=None),
            replace(tonight, ordered=replace(tonight.ordered, outdated="The marks are different")),
        ):
            with pytest.raises(OrderIsNone, match="plan it first"):
                order_papers(without, Unit.CENTIMETRE, now())
