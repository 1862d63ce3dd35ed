"""What a check is: items answered one by one, and the day by which the next is due."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.checks.checks import (
    MOST_ITEMS,
    MOST_LETTERS_OF_A_REMARK,
    SOON_DAYS,
    Answer,
    CheckItem,
    CheckList,
    EachByItself,
    Group,
    IntervalNotPossible,
    ItemTwice,
    NoSuchItem,
    NoSuchOccasion,
    NotAnswered,
    NothingSaid,
    NotThatManyItems,
    Occasion,
    RemarkTooLong,
    Reply,
    Standing,
    answered,
    must_be_told_apart,
    next_due,
    occasion_of,
)

LOCKS = CheckItem("locks", Group.LOCKS, "Locks seated", "common practice, no source")
RAIL = CheckItem("rail", Group.RAIL_SURFACE, "Rail whole", "DGUV Information 202-044")
CLOSED = CheckItem("closed", Group.CLOSURES, "Closures closed", "common practice, no source")
IN_ORDER = Reply(Answer.IN_ORDER)


def a_list(occasion: Occasion = Occasion.BEFORE_USE) -> CheckList:
    return CheckList("uneven_bars", occasion, (RAIL, LOCKS, CLOSED))


class TestTheList:
    def test_items_stand_group_by_group_as_one_walks_round(self):
        assert [item.key for item in a_list().items] == ["closed", "locks", "rail"]
        assert [group for group, _ in a_list().groups] == [
            Group.CLOSURES,
            Group.LOCKS,
            Group.RAIL_SURFACE,
        ]

    @pytest.mark.parametrize("count", [0, MOST_ITEMS + 1])
    def test_a_list_of_nothing_or_without_end_is_refused(self, count: int):
        items = tuple(CheckItem(str(one), Group.LOCKS, f"Item {one}", "") for one in range(count))
        with pytest.raises(NotThatManyItems, match=f"this one has {count}"):
            CheckList("rings", Occasion.BEFORE_USE, items)

    @pytest.mark.parametrize("count", [1, 60])
    def test_one_item_is_a_list_and_sixty_are(self, count: int):
        items = tuple(CheckItem(str(one), Group.LOCKS, f"Item {one}", "") for one in range(count))
        assert (
            len(CheckList("rings", Occasion.BEFORE_USE, items).items)
            == count
            == min(count, MOST_ITEMS)
        )

    def test_two_items_that_say_the_same_are_refused(self):
        """Nobody could tell later which of the two was looked at."""
        with pytest.raises(ItemTwice, match="LOCKS SEATED"):
            must_be_told_apart([LOCKS, CheckItem("x", Group.CLOSURES, "LOCKS SEATED", "")])


class TestAnswering:
    def test_every_item_gets_its_answer_and_keeps_its_remark(self):
        replies = {"closed": IN_ORDER, "locks": Reply(Answer.NOTE, " stiff "), "rail": IN_ORDER}

        results = answered(a_list(), replies)

        assert [(one.item.key, one.answer, one.remark, one.together) for one in results] == [
            ("closed", Answer.IN_ORDER, "", False),
            ("locks", Answer.NOTE, "stiff", False),
            ("rail", Answer.IN_ORDER, "", False),
        ]

    def test_an_item_left_out_is_named(self):
        """Forgetting one is how a closure stays open."""
        with pytest.raises(NotAnswered, match="2 items are not answered yet; the first is “Locks"):
            answered(a_list(), {"closed": IN_ORDER})

    def test_what_was_put_in_order_together_is_marked_as_such(self):
        """The record does not say of an item that somebody answered it by itself."""
        results = answered(a_list(), {"locks": IN_ORDER}, rest_in_order=True)

        assert {one.item.key: one.together for one in results} == {
            "closed": True,
            "locks": False,
            "rail": True,
        }

    def test_a_section_is_put_in_order_together_but_for_what_was_touched(self):
        mats = [CheckItem(key, Group.MATS_AND_PADS, key, "") for key in ("closed up", "whole")]
        asked = CheckList("uneven_bars", Occasion.BEFORE_USE, (LOCKS, *mats))
        replies = {LOCKS.key: IN_ORDER, "whole": Reply(Answer.NOTE, "a seam is open")}

        results = answered(asked, replies, together=[Group.MATS_AND_PADS])

        assert {one.item.key: (one.answer, one.together) for one in results} == {
            LOCKS.key: (Answer.IN_ORDER, False),
            "closed up": (Answer.IN_ORDER, True),
            "whole": (Answer.NOTE, False),
        }

    @pytest.mark.parametrize("group", [one for one in Group if one.stops_use])
    def test_what_somebody_hangs_on_is_never_put_in_order_by_the_section(self, group: Group):
        """Twenty locks are not seated because a box was ticked."""
        asked = CheckList("uneven_bars", Occasion.BEFORE_USE, (CheckItem("x", group, "X", ""),))
        with pytest.raises(EachByItself, match="answer every item by itself"):
            answered(asked, {}, together=[group])

    @pytest.mark.parametrize("occasion", [Occasion.OPERATIONAL, Occasion.YEARLY])
    def test_a_thorough_check_knows_no_such_section(self, occasion: Occasion):
        with pytest.raises(EachByItself):
            answered(a_list(occasion), {}, together=[Group.MATS_AND_PADS])

    @pytest.mark.parametrize(
        "touched", [Reply(None, "loose"), Reply(None, photographed=True)], ids=["remark", "photo"]
    )
    def test_an_item_with_a_remark_or_a_photo_is_never_put_in_order_with_the_rest(self, touched):
        """Whoever photographed it saw something."""
        with pytest.raises(NotAnswered, match="Rail whole"):
            answered(a_list(), {"rail": touched}, rest_in_order=True)

    @pytest.mark.parametrize("occasion", [Occasion.OPERATIONAL, Occasion.YEARLY])
    def test_in_a_thorough_check_every_item_is_answered_by_itself(self, occasion: Occasion):
        with pytest.raises(EachByItself, match="answer every item by itself"):
            answered(a_list(occasion), {}, rest_in_order=True)

    @pytest.mark.parametrize("answer", [Answer.NOTE, Answer.WITHDRAW])
    def test_a_note_or_a_withdrawal_says_what_was_seen(self, answer: Answer):
        """The service company cannot repair a cross on a form."""
        replies = {"closed": IN_ORDER, "locks": Reply(answer, "  "), "rail": IN_ORDER}
        with pytest.raises(NothingSaid, match="Locks seated"):
            answered(a_list(), replies)

    @pytest.mark.parametrize(("items", "more"), [(3, ""), (4, " and 1 more")])
    def test_of_many_the_first_three_are_named(self, items: int, more: str):
        named = [CheckItem(f"k{n}", Group.LOCKS, f"Item {n}", "nobody") for n in range(items)]
        assert str(NothingSaid(named)).endswith(f": “Item 0”; “Item 1”; “Item 2”{more}")

    def test_an_answer_to_no_item_is_refused(self):
        with pytest.raises(NoSuchItem, match="no item 'ghost'"):
            answered(a_list(), {"ghost": IN_ORDER})

    def test_a_remark_without_end_is_refused_and_its_letters_are_counted(self):
        with pytest.raises(RemarkTooLong, match=f"{MOST_LETTERS_OF_A_REMARK} letters or fewer"):
            answered(a_list(), {"rail": Reply(Answer.NOTE, "x" * 10_000)})

    @given(st.dictionaries(st.sampled_from(["closed", "locks", "rail"]), st.sampled_from(Answer)))
    def test_nothing_is_ever_in_order_that_nobody_said_so_of(self, given_answers):
        """No accidental all-in-order."""
        replies = {key: Reply(answer, "seen") for key, answer in given_answers.items()}
        if len(replies) < 3:
            with pytest.raises(NotAnswered):
                answered(a_list(), replies)
        else:
            results = answered(a_list(), replies)
            assert {one.item.key: one.answer for one in results} == given_answers


class TestWhenTheNextIsDue:
    @pytest.mark.parametrize(
        ("made", "months", "due"),
        [
            (date(2026, 8, 25), 3, date(2026, 11, 25)),
            (date(2026, 11, 30), 3, date(2027, 2, 28)),
            (date(2023, 11, 30), 3, date(2024, 2, 29)),
            (date(2026, 12, 31), 1, date(2027, 1, 31)),
            (date(2024, 2, 29), 12, date(2025, 2, 28)),
        ],
    )
    def test_it_is_the_same_day_of_a_later_month_or_that_months_last(self, made, months, due):
        assert next_due(Occasion.OPERATIONAL, made, months).due_on == due

    def test_it_is_overdue_only_on_the_day_after(self):
        due = next_due(Occasion.YEARLY, date(2025, 11, 25), 12)
        assert due.due_on == date(2026, 11, 25)
        assert due.standing(date(2026, 11, 25)) is Standing.DUE_SOON
        assert due.standing(date(2026, 11, 26)) is Standing.OVERDUE

    def test_it_is_named_two_weeks_before(self):
        due = next_due(Occasion.YEARLY, date(2025, 11, 25), 12)
        first = date(2026, 11, 25) - timedelta(days=SOON_DAYS)
        assert due.standing(first) is Standing.DUE_SOON
        assert due.standing(first - timedelta(days=1)) is Standing.MADE

    def test_what_was_never_made_is_not_overdue_but_said(self):
        assert next_due(Occasion.YEARLY, None, 12).standing(date.max) is Standing.NEVER_MADE


class TestOccasions:
    @pytest.mark.parametrize("months", [0, 4, 13])
    def test_an_operational_check_comes_round_every_1_to_3_months(self, months: int):
        assert Occasion.OPERATIONAL.interval is not None
        with pytest.raises(IntervalNotPossible, match="every 1 to 3 months"):
            Occasion.OPERATIONAL.interval.chosen(months)

    def test_an_occasion_that_there_is_not_is_refused(self):
        with pytest.raises(NoSuchOccasion, match="before_use, after_change_over"):
            occasion_of("now_and_then")
