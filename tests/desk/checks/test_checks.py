"""Checks as they are made and kept, what they find, and when they are due."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from settingsdesk.desk.checks import check_lists, checks, findings, reports
from settingsdesk.desk.checks.check_lists import ListChangedMeanwhile, NotAnItem, shipped_list
from settingsdesk.desk.checks.checks import (
    Check,
    Circumstances,
    ListChanged,
    NobodyLooked,
    NotMadeYet,
    Recheck,
    make_check,
)
from settingsdesk.desk.checks.due_today import looking_after
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.hall.in_use import withdrawals
from settingsdesk.desk.hall.photos import read_photo
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.checks.checks import (
    Answer,
    Group,
    IntervalNotPossible,
    ItemTwice,
    NotAnswered,
    Occasion,
    Reply,
    Standing,
)
from settingsdesk.domain.checks.findings import Step, StepIsOver
from settingsdesk.store.work import Store
from tests.conftest import Account
from tests.desk.checks.pictures import jpeg
from tests.desk.sample_hall import BY, Hall, furnish

HERE = Circumstances(today(), "Hall one", BY)
BEFORE_USE = Occasion.BEFORE_USE


@pytest.fixture
def hall(store: Store, account: Account) -> Hall:
    return furnish(store, account.club_id)


@pytest.fixture
def session(store: Store, hall: Hall) -> Iterator[Session]:
    with store.work(hall.club_id, by=BY, writes=True) as opened:
        yield opened


def all_in_order(occasion: Occasion = BEFORE_USE, kind: str = "uneven_bars", **other: Reply):
    items = shipped_list(kind, occasion).items
    return {item.key: Reply(Answer.IN_ORDER) for item in items} | other


def make(
    session: Session,
    hall: Hall,
    press: str = "press",
    told: Circumstances = HERE,
    occasion: Occasion = BEFORE_USE,
    **other: Reply,
) -> Check:
    replies = all_in_order(occasion, **other)
    return make_check(session, hall.bars, occasion, 0, replies, told, press)


def due(session: Session, hall: Hall, occasion: Occasion) -> checks.Due:
    [care] = checks.cares(session, [apparatus.piece(session, hall.bars)])
    return next(one for one in care.dues if one.occasion is occasion)


class TestACheckOnRecord:
    def test_it_holds_what_a_record_must_hold(self, session: Session, hall: Hall):
        """DGUV Information 202-044, section 1."""
        told = Circumstances(
            made_on=today(),
            place="Hall one",
            made_by="Wilma Tarrant",
            second_by="Odo",
            address="1 Ropewalk",
            remark="Cold",
            recheck="the cables",
            recheck_on=date(2027, 1, 1),
        )
        check = make(session, hall, told=told, laminate=Reply(Answer.WITHDRAW, "splinter"))

        assert checks.check(session, check.id) == check
        assert check.told == told
        assert check.recorded_by == BY
        assert check.doubted
        assert [one.remark for one in check.faults] == ["splinter"]
        assert check.answers[0].source == "common practice, no source"

    def test_it_keeps_its_words_when_the_list_is_changed_later(self, session, hall):
        check = make(session, hall)
        shown = check_lists.check_list(session, "uneven_bars", BEFORE_USE)
        check_lists.keep_list(session, shown, [(Group.LOCKS, "Only this")], None)
        assert len(checks.check(session, check.id).answers) == len(shown.items)

    def test_the_same_press_twice_makes_one_check_and_one_finding(self, session, hall):
        """On a slow network the button is pressed again."""
        first = make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        second = make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        assert first == second
        assert len(checks.checks_of(session, hall.bars)) == 1
        assert len(findings.recent(session)) == 1

    def test_one_left_unfinished_leaves_nothing(self, store, hall):
        with pytest.raises(NotAnswered), store.work(hall.club_id, by=BY, writes=True) as session:
            make_check(session, hall.bars, BEFORE_USE, 0, {}, HERE, "press")
        with store.work(hall.club_id, writes=False) as session:
            assert checks.checks_of(session, hall.bars) == []

    def test_one_of_a_list_that_was_changed_meanwhile_is_refused(self, session, hall):
        """Else an item that was added this minute would count as looked at."""
        shown = check_lists.check_list(session, "uneven_bars", BEFORE_USE)
        check_lists.keep_list(session, shown, [(Group.LOCKS, "New")], None)
        with pytest.raises(ListChanged, match="look at the items that are new"):
            make(session, hall)

    def test_somebody_must_have_made_it_and_not_tomorrow(self, session, hall):
        with pytest.raises(NobodyLooked):
            make(session, hall, told=replace(HERE, made_by=" "))
        with pytest.raises(NotMadeYet, match="is to come"):
            make(session, hall, told=replace(HERE, made_on=today() + timedelta(days=1)))

    def test_a_withdrawn_apparatus_can_still_be_checked(self, session, hall):
        """It must be, before it is released."""
        make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        assert not make(session, hall, "another").doubted


class TestWhatACheckFinds:
    def test_a_withdrawal_takes_the_apparatus_out_of_use_at_once(self, session, hall):
        check = make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        found = findings.finding(session, check.faults[0].finding_id)
        told = withdrawals(session).get(hall.bars)
        assert told is not None
        assert told.findings == (found.id,)
        assert told.why.startswith("splinter (Laminate of the rails")
        assert found.state is Step.OPEN

    def test_a_note_is_followed_and_leaves_it_in_use(self, session, hall):
        make(session, hall, mats_lie=Reply(Answer.NOTE, "gap"))
        assert withdrawals(session).get(hall.bars) is None
        assert [one.words.split(" (")[0] for one in findings.unreleased(session)] == ["gap"]

    def test_a_fault_on_record_is_not_opened_a_second_time(self, session, hall):
        """Whoever notes the same gap every evening has one finding, seen twice."""
        first = make(session, hall, mats_lie=Reply(Answer.NOTE, "gap"))
        second = make(session, hall, "another", mats_lie=Reply(Answer.NOTE, "gap, wider"))
        number = first.faults[0].finding_id
        assert second.faults[0].finding_id == number
        seen = findings.seen_again(session, number)
        assert [one.remark for one in seen] == ["gap", "gap, wider"]

    def test_but_a_withdrawal_is_more_than_the_note_before_it(self, session, hall):
        make(session, hall, mats_lie=Reply(Answer.NOTE, "gap"))
        make(session, hall, "another", mats_lie=Reply(Answer.WITHDRAW, "foot bare"))
        assert withdrawals(session).get(hall.bars) is not None

    def test_and_one_that_was_released_is_opened_anew(self, session, hall):
        first = make(session, hall, mats_lie=Reply(Answer.NOTE, "gap"))
        findings.take_step(session, first.faults[0].finding_id, Step.RELEASED, "closed")
        make(session, hall, "another", mats_lie=Reply(Answer.NOTE, "gap"))
        assert len(findings.recent(session)) == 2

    def test_its_photo_goes_with_the_finding(self, session, hall):
        replies = all_in_order(laminate=Reply(Answer.WITHDRAW, "splinter", photographed=True))
        photos = {"laminate": read_photo(jpeg())}
        check = make_check(session, hall.bars, BEFORE_USE, 0, replies, HERE, "p", photos_of=photos)
        found = findings.finding(session, check.faults[0].finding_id)
        assert found.opened.photo_id == check.faults[0].photo_id is not None
        assert [one.words for one in reports.of_apparatus(session, hall.bars).pictures]

    def test_two_coaches_releasing_at_once_are_told_apart(self, session, hall):
        check = make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        number = check.faults[0].finding_id
        once = findings.take_step(session, number, Step.RELEASED, "changed")
        assert findings.take_step(session, number, Step.RELEASED, "changed") == once
        with pytest.raises(StepIsOver, match="Somebody may have been here before you"):
            findings.take_step(session, number, Step.RELEASED, "looked fine")

    def test_a_long_remark_is_kept_whole_though_its_heading_is_short(self, session, hall):
        remark = "splinter " * 200
        check = make(session, hall, laminate=Reply(Answer.WITHDRAW, remark))
        found = findings.finding(session, check.faults[0].finding_id)
        assert found.opened.remark == remark.strip()
        assert len(found.words.split(" (")[0]) <= findings.MOST_LETTERS_OF_A_HEADING


class TestWhenChecksAreDue:
    def test_three_months_after_the_last_operational_check(self, session, hall):
        told = replace(HERE, made_on=date(2026, 1, 10))
        make(session, hall, told=told, occasion=Occasion.OPERATIONAL)
        assert due(session, hall, Occasion.OPERATIONAL).due_on == date(2026, 4, 10)
        assert due(session, hall, Occasion.YEARLY).standing(today()) is Standing.NEVER_MADE

    def test_sooner_where_the_club_says_so(self, session, hall):
        told = replace(HERE, made_on=date(2026, 1, 10))
        make(session, hall, told=told, occasion=Occasion.OPERATIONAL)
        shown = check_lists.check_list(session, "uneven_bars", Occasion.OPERATIONAL)
        lines = [(item.group, item.words) for item in shown.items]
        check_lists.keep_list(session, shown, lines, 1)
        assert due(session, hall, Occasion.OPERATIONAL).due_on == date(2026, 2, 10)

    def test_a_thorough_check_counts_for_the_lesser_ones(self, session, hall):
        make(session, hall, occasion=Occasion.YEARLY)
        assert due(session, hall, Occasion.OPERATIONAL).made_on == today()
        assert checks.cares(session, [apparatus.piece(session, hall.bars)])[0].checked_on == today()

    def test_a_lesser_one_does_not_count_for_it(self, session, hall):
        make(session, hall)
        assert due(session, hall, Occasion.YEARLY).made_on is None

    def test_the_latest_day_counts_not_what_was_typed_in_last(self, session, hall):
        """The inspector's paper of last spring is recorded this week."""
        make(session, hall, "one", replace(HERE, made_on=date(2026, 6, 1)), Occasion.YEARLY)
        make(session, hall, "two", replace(HERE, made_on=date(2025, 6, 1)), Occasion.YEARLY)
        assert due(session, hall, Occasion.YEARLY).made_on == date(2026, 6, 1)


class TestWhichCheckComesFirst:
    """Said as it is, so that nobody has to know whether somebody looked this morning."""

    def first(self, session: Session, hall: Hall) -> str:
        [care] = checks.cares(session, [apparatus.piece(session, hall.bars)])
        return care.first_in_words(today())

    def test_the_one_before_use_and_what_counts_for_it(self, session, hall):
        assert self.first(session, hall) == (
            "First the check before use: it was never made. The operational check is on record as"
            " never made; made today, it counts as the check before use."
        )

    def test_a_day_later_it_comes_first_again(self, session, hall):
        yesterday = replace(HERE, made_on=today() - timedelta(days=1))
        make(session, hall, told=yesterday, occasion=Occasion.YEARLY)
        assert self.first(session, hall) == (
            f"First the check before use: it was made last on {day_in_words(yesterday.made_on)}."
        )

    def test_nothing_is_asked_where_it_was_made_today(self, session, hall):
        make(session, hall)
        assert self.first(session, hall) == "The check before use was made today."

    def test_what_was_checked_before_a_release_does_not_count_after_it(self, session, hall):
        """Cables were changed meanwhile, perhaps: nobody has looked at them since."""
        bad = make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        name = apparatus.piece(session, hall.bars).name
        told = f"it was made last on {day_in_words(today())}, and {name} has been out of use since"
        assert told in self.first(session, hall)

        findings.take_step(session, bad.faults[0].finding_id, Step.RELEASED, "sanded")
        assert told in self.first(session, hall)

        make(session, hall, "anew")
        assert self.first(session, hall) == "The check before use was made today."

    def test_one_that_was_made_once_it_was_repaired_counts_after_the_release(self, session, hall):
        """So the page of the finding asks for it: nobody makes twenty items twice for a press."""
        bad = make(session, hall, laminate=Reply(Answer.WITHDRAW, "splinter"))
        number = bad.faults[0].finding_id
        findings.take_step(session, number, Step.REPAIRED, "new rail")
        make(session, hall, "anew")
        [care] = checks.cares(session, [apparatus.piece(session, hall.bars)])
        assert (care.is_void, care.counts_once_released) == (True, True)

        findings.take_step(session, number, Step.RELEASED, "new rail, tried")
        assert self.first(session, hall) == "The check before use was made today."

    def test_but_not_where_another_fault_was_repaired_after_it(self, session, hall):
        first, second = (
            findings.add_finding(session, hall.bars, words, withdraws=True, press_key=words)
            for words in ("Split", "Frayed")
        )
        findings.take_step(session, first.id, Step.REPAIRED, "new rail")
        make(session, hall)
        [care] = checks.cares(session, [apparatus.piece(session, hall.bars)])
        assert not care.counts_once_released
        findings.take_step(session, second.id, Step.REPAIRED, "new cable")
        for found in (first, second):
            findings.take_step(session, found.id, Step.RELEASED, "tried")
        assert "has been out of use since" in self.first(session, hall)


class TestLookingAfter:
    def wanting(self, session: Session, in_rotations: set[int]):
        pieces = apparatus.all_pieces(session)
        return looking_after(session, today(), pieces, in_rotations)

    def test_an_apparatus_of_todays_rotations_wants_its_check(self, session, hall):
        found = self.wanting(session, {hall.bars})
        assert {one.piece.id: one.unchecked for one in found.apparatus} == {
            hall.bars: True,
            hall.beam: False,
        }
        make(session, hall)
        assert not any(one.unchecked for one in self.wanting(session, {hall.bars}).apparatus)

    def test_one_that_was_looked_after_is_left_out_until_it_is_withdrawn(self, session, hall):
        make(session, hall, occasion=Occasion.YEARLY)
        assert [one.piece.id for one in self.wanting(session, {hall.bars}).apparatus] == [hall.beam]
        findings.add_finding(session, hall.bars, "Split", withdraws=True, press_key="x")
        assert self.wanting(session, set()).apparatus[0].piece.id == hall.bars

    def test_what_was_to_be_looked_at_again_comes_on_its_day(self, session, hall):
        told = replace(HERE, recheck="the pin", recheck_on=today())
        make(session, hall, told=told, occasion=Occasion.YEARLY)
        again = {
            one.piece.id: [recheck.what for recheck in one.rechecks]
            for one in self.wanting(session, set()).apparatus
        }
        assert again == {hall.bars: ["the pin"], hall.beam: []}


class TestWhatIsToBeLookedAtAgain:
    """Open until a check answers it: else the next routine check would bury what was noted."""

    PIN = replace(HERE, recheck="the pin", recheck_on=today())

    def noted(self, session: Session, hall: Hall, told: Circumstances = PIN) -> str:
        """By a yearly check; the key of the item by which it is answered."""
        make(session, hall, "noted", told, Occasion.YEARLY)
        return self.left(session, hall)[-1].item.key

    def left(self, session: Session, hall: Hall) -> tuple[Recheck, ...]:
        [care] = checks.cares(session, [apparatus.piece(session, hall.bars)])
        return care.rechecks

    def test_a_check_that_does_not_answer_it_leaves_it_open(self, session, hall):
        self.noted(session, hall)
        make(session, hall, "next")

        assert [one.in_words for one in self.left(session, hall)] == [
            f"the pin, by {day_in_words(today())}"
        ]
        pieces = apparatus.all_pieces(session)
        wanting = looking_after(session, today(), pieces, set()).apparatus
        assert [one.what for row in wanting for one in row.rechecks] == ["the pin"]
        assert (
            "the pin, by"
            in dict(reports.of_apparatus(session, hall.bars).facts)["Re-checks needed"]
        )

    def test_one_of_an_older_day_that_is_typed_in_late_is_not_lost(self, session, hall):
        """The inspector's paper of last month, recorded after today's check."""
        make(session, hall, "today")
        self.noted(session, hall, replace(self.PIN, made_on=today() - timedelta(days=30)))
        assert [one.what for one in self.left(session, hall)] == ["the pin"]

    def test_in_order_it_is_over_and_the_record_says_so(self, session, hall):
        key = self.noted(session, hall)
        check = make(session, hall, "next", **{key: Reply(Answer.IN_ORDER, "tried")})

        assert self.left(session, hall) == ()
        last = check.answers[-1]
        assert (last.words, last.remark) == (f"the pin, by {day_in_words(today())}", "tried")
        assert last.group.words == "To check again"

    def test_a_fault_seen_in_it_becomes_a_finding_that_has_its_own_life(self, session, hall):
        key = self.noted(session, hall)
        make(session, hall, "next", **{key: Reply(Answer.WITHDRAW, "cracked")})

        assert self.left(session, hall) == ()
        assert hall.bars in withdrawals(session)

    def test_each_is_answered_by_itself(self, session, hall):
        first = self.noted(session, hall)
        make(session, hall, "two", replace(HERE, recheck="the mats"))
        make(session, hall, "next", **{first: Reply(Answer.IN_ORDER)})

        assert [one.in_words for one in self.left(session, hall)] == ["the mats"]

    def test_a_remark_without_an_answer_is_none(self, session, hall):
        key = self.noted(session, hall)
        with pytest.raises(NotAnswered):
            make(session, hall, "next", **{key: Reply(None, "tried")})

    def test_what_somebody_else_answered_meanwhile_is_looked_at_once_more(self, session, hall):
        key = self.noted(session, hall)
        make(session, hall, "one", **{key: Reply(Answer.IN_ORDER)})
        with pytest.raises(ListChanged):
            make(session, hall, "two", **{key: Reply(Answer.WITHDRAW, "cracked")})

    def test_it_is_that_apparatuss_own(self, session, hall):
        self.noted(session, hall)
        [care] = checks.cares(session, [apparatus.piece(session, hall.beam)])
        assert care.rechecks == ()


class TestTheClubsOwnLists:
    def test_it_is_kept_and_told_what_the_shipped_list_has_besides(self, session, hall):
        """A new edition of the shipped lists changes nothing that a club has written."""
        shown = check_lists.check_list(session, "uneven_bars", BEFORE_USE)
        assert check_lists.shipped_besides(shown) == ()
        lines = [(item.group, item.words) for item in shown.items[1:]]
        own = check_lists.keep_list(session, shown, lines, None)
        assert check_lists.check_list(session, "uneven_bars", BEFORE_USE) == own
        assert check_lists.shipped_besides(own) == shown.items[:1]

    def test_an_item_that_is_said_in_other_words_now_is_not_told_as_lacking(
        self, session, hall, monkeypatch
    ):
        """A new edition may say the same more plainly; a club that kept its list misses nothing."""
        shown = check_lists.check_list(session, "uneven_bars", BEFORE_USE)
        lines = [(item.group, item.words) for item in shown.items[1:]]
        own = check_lists.keep_list(session, shown, lines, None)
        said = replace(shown.items[3], words="Said more plainly")
        plainer = replace(shown, items=(*shown.items[:3], said, *shown.items[4:]))
        monkeypatch.setattr(check_lists, "shipped_list", lambda *_: plainer)

        assert check_lists.shipped_besides(own) == shown.items[:1]

    def test_changed_words_are_the_clubs_own_and_the_others_keep_their_source(self, session, hall):
        shown = check_lists.check_list(session, "uneven_bars", BEFORE_USE)
        kept = shown.items[3]
        lines = [(kept.group, kept.words), (Group.LOCKS, "  The   red lever down ")]

        own = check_lists.keep_list(session, shown, lines, None)

        assert own.version == 1
        assert [(item.words, item.source) for item in own.items] == [
            ("The red lever down", "the club's own"),
            (kept.words, kept.source),
        ]
        assert check_lists.check_list(session, "uneven_bars", BEFORE_USE) == own
        assert check_lists.recheck_items(session, "uneven_bars")[0].words == (
            "Every lock seated, seen and felt"
        )

    def test_back_to_the_shipped_list_is_a_version_too(self, session, hall):
        shown = check_lists.check_list(session, "rings", BEFORE_USE)
        check_lists.keep_list(session, shown, [(Group.LOCKS, "Mine")], None)
        again = check_lists.back_to_shipped(session, "rings", BEFORE_USE)
        assert (again.items, again.version) == (shown.items, 2)
        history = check_lists.list_history(session, "rings", BEFORE_USE)
        assert [(one.version, one.shipped) for one in history] == [(2, True), (1, False)]

    def test_a_key_of_an_item_that_is_gone_is_never_given_again(self, session, hall):
        """Findings go by it: a new item must not inherit an old one's fault."""
        shown = check_lists.check_list(session, "rings", BEFORE_USE)
        one = check_lists.keep_list(session, shown, [(Group.LOCKS, "Mine")], None)
        two = check_lists.keep_list(session, one, [(Group.LOCKS, "Other")], None)
        assert one.items[0].key != two.items[0].key

    def test_keeping_what_stands_there_makes_no_version(self, session, hall):
        shown = check_lists.check_list(session, "rings", BEFORE_USE)
        lines = [(item.group, item.words) for item in shown.items]
        assert check_lists.keep_list(session, shown, lines, None).version == 0

    def test_of_two_coaches_the_second_is_told(self, session, hall):
        shown = check_lists.check_list(session, "rings", BEFORE_USE)
        check_lists.keep_list(session, shown, [(Group.LOCKS, "Mine")], None)
        with pytest.raises(ListChangedMeanwhile):
            check_lists.keep_list(session, shown, [(Group.LOCKS, "His")], None)

    @pytest.mark.parametrize(
        ("lines", "refusal"),
        [
            ([(Group.LOCKS, "x" * 201)], NotAnItem),
            ([(Group.LOCKS, "Same"), (Group.CABLES, "same")], ItemTwice),
        ],
    )
    def test_an_item_nobody_can_read_or_tell_apart_is_refused(self, session, hall, lines, refusal):
        shown = check_lists.check_list(session, "rings", BEFORE_USE)
        with pytest.raises(refusal):
            check_lists.keep_list(session, shown, lines, None)

    def test_never_more_seldom_than_it_may_be(self, session, hall):
        shown = check_lists.check_list(session, "rings", Occasion.YEARLY)
        with pytest.raises(IntervalNotPossible):
            check_lists.keep_list(session, shown, [(Group.LOCKS, "Mine")], 13)
