"""What was asked of a rotation, in words."""

from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.wishes_in_words import told_parts
from tests.conftest import DemoClub


def told(club: DemoClub, asked: OrderRequest) -> tuple[str, ...]:
    with club.work() as session:
        view = desk_rotation.rotation(session, 1)
        names = {1: "Tuva F.", 2: "Inês G.", 3: "Jagna B."}
        return tuple(told_parts(names, asked, view.pieces).values())


class TestToldWhole:
    def test_each_wish_is_a_phrase_of_its_own(self, demo_club: DemoClub) -> None:
        """A coach sees beside the order what it had to keep to, and need not open the form."""
        asked = OrderRequest(
            turns=2,
            rest_turns=1,
            leeway=True,
            first=1,
            before=((2, 3),),
            together=((1, 2, 3),),
            places=((3, 4),),
            finals=((1, (4, 4, 40)),),
        )

        assert told(demo_club, asked) == (
            "2 turns each",
            "at least 1 turn of rest between two of one athlete",
            "Tuva F. first",
            "Inês G. before Jagna B.",
            "Tuva F., Inês G. and Jagna B. next to each other",
            "Jagna B. at turn 4",
            "marks may differ within what each athlete accepts",
            "Bars by the window afterwards at 5 / 5 / 170.0",
        )

    def test_of_several_groups_it_is_said_of_which(self, demo_club: DemoClub) -> None:
        """Of an evening with Minis and Kür, "first" alone would be the evening's first turn."""
        groups = {"groups": ((1, 2), (3,))}
        wishes = {"first": 3, "last": 2, "places": ((2, 2),)}

        assert told(demo_club, OrderRequest(**groups, **wishes, group_names=("Minis", "Kür"))) == (
            "groups one after the other, in this order: Minis, Kür",
            "Jagna B. first of Kür",
            "Inês G. last of Minis",
            "Inês G. at turn 2 of Minis",
        )
        assert told(demo_club, OrderRequest(**groups, first=3))[1:] == (
            "Jagna B. first of group 2",
        )

    def test_what_is_asked_of_all_turns_alike_is_said_too(self, demo_club: DemoClub) -> None:
        asked = OrderRequest(
            turns=2, rest_turns=3, longest_rest=True, in_rounds=True, one_setup=True
        )

        assert told(demo_club, asked) == (
            "2 turns each",
            "the longest rest there can be between two turns of one athlete",
            "turns in rounds: everybody once before anybody again",
            "all turns of an athlete at the same marks",
        )

    def test_what_is_as_usual_is_not_said(self, demo_club: DemoClub) -> None:
        assert told(demo_club, OrderRequest()) == ()

    def test_marks_that_the_scale_lost_are_said_to_be_gone(self, demo_club: DemoClub) -> None:
        """The page of such a rotation leads to the form; it must not break before."""
        gone = OrderRequest(finals=((1, (400, 4, 80)),))

        assert told(demo_club, gone) == (
            "Bars by the window afterwards at marks that its scale no longer has",
        )
