"""Several settings of an athlete for one model: which one counts where."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from settingsdesk.desk.cards import in_hand, issued
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.coach_lists import Look, NotWhole
from settingsdesk.desk.lists.destinations import Squad
from settingsdesk.desk.lists.way_out import export_rows
from settingsdesk.desk.meets import same_person
from settingsdesk.desk.rotations import order_paper, rotation
from settingsdesk.desk.rotations.order_request import OrderRequest
from settingsdesk.desk.rotations.view import RotationView
from settingsdesk.desk.runs import run
from settingsdesk.desk.squad import (
    athletes,
    marks_on_scales,
    setting_versions,
    settings,
    still_right,
    typed_marks,
)
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.settings import SettingVersion, UsualOneFirst
from settingsdesk.desk.terminal.as_text import change_lines, open_lines, order_lines
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.purposes import SETTINGS_FOR, USUAL, USUAL_INSTEAD, Purpose
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.domain.settings.transfer import setting_of_setup
from settingsdesk.sheets.columns import squad_columns
from settingsdesk.sheets.squad_writing import squad_csv
from settingsdesk.store.base import utc_now
from settingsdesk.store.work import ClubSession
from tests.conftest import DemoClub
from tests.desk.sample_meet import CODE_KEY

JAGNA, DEFNE = 1, 2
HALL, TRAVEL, LEANING = 1, 2, 3
TRAINING, LEARNING = Purpose.TRAINING, Purpose.LEARNING
TONIGHT = 1


def wider(setting: Setting, by_mm: int) -> Setting:
    spread = setting.axes["spread"]
    return Setting(
        setting.kind,
        {**setting.axes, "spread": replace(spread, wanted_mm=spread.wanted_mm + by_mm)},
    )


def keep(
    session: ClubSession,
    by_mm: int,
    purpose: Purpose = TRAINING,
    athlete_id: int = JAGNA,
    model_id: int = HALL,
) -> SettingVersion:
    """As the usual one, wider."""
    usual = settings.latest(session, athlete_id, HALL)
    assert usual is not None
    return settings.keep_setting(
        session, athlete_id, model_id, wider(usual.setting, by_mm), purpose=purpose
    )


def spreads_mm(session: ClubSession, athlete_id: int = JAGNA) -> dict[str, int]:
    current = settings.current(session, athlete_id)
    return {one.wanted_for: one.setting.axes["spread"].wanted_mm for one in current}


class TestKeepingThem:
    def test_each_has_versions_of_its_own_and_the_usual_one_stays(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            before = settings.latest(session, JAGNA, HALL)
            assert keep(session, 50).version == 1
            assert keep(session, 60).version == 2
            assert keep(session, 90, LEARNING).version == 1
            assert settings.latest(session, JAGNA, HALL) == before
            assert spreads_mm(session) == {
                "Hall frame A": 1700,
                "Hall frame A, for training": 1760,
                "Hall frame A, for learning": 1790,
                "Leaning frame C": 1710,
            }
            changes = [
                step.changes
                for step in setting_versions.steps(session, JAGNA, Unit.CENTIMETRE)
                if step.version.purpose is TRAINING
            ]
        assert changes[0] == ("Rail spread: 175.0 cm ± 1.5 cm becomes 176.0 cm ± 1.5 cm",)
        assert len(changes[1]) == 3

    def test_none_stands_where_there_is_no_usual_one(self, demo_club: DemoClub) -> None:
        """So that cards, meets and whoever asks for nothing else find one."""
        with demo_club.work(writes=True) as session, pytest.raises(UsualOneFirst) as refused:
            keep(session, 50, model_id=TRAVEL)
        assert str(refused.value) == (
            "A setting for training stands beside the usual one, for competition: enter that one"
            " for Travel frame B first"
        )

    def test_beside_one_that_nobody_tried_is_as_little_tried(self, demo_club: DemoClub) -> None:
        """It is filled in with the usual one, and that was another athlete's."""
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana")).id
            usual = settings.begin_with(session, ana, HALL, JAGNA)
            assert keep(session, 50, athlete_id=ana).untried
            still_right.confirm(session, ana, usual.id, 0)
        with demo_club.work(writes=True) as session:
            assert keep(session, 60, athlete_id=ana).untried
            assert not keep(session, 90, LEARNING, athlete_id=ana).untried


class TestWhichOneCounts:
    def on(self, session: ClubSession, name: str, purpose: Purpose) -> settings.Carried:
        [piece] = [one for one in apparatus.all_pieces(session) if one.name == name]
        return settings.on_piece(session, [JAGNA], piece, purpose)[JAGNA]

    def test_is_the_one_for_the_purpose_and_else_the_usual_one_which_is_said(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            kept = keep(session, 50)
            bars = "Bars by the window"
            assert self.on(session, bars, TRAINING).version.id == kept.id
            assert self.on(session, bars, TRAINING).heeds == ()
            assert self.on(session, bars, USUAL).version.purpose is USUAL
            instead = self.on(session, bars, LEARNING)
        assert instead.version.purpose is USUAL
        assert instead.heeds == (USUAL_INSTEAD[LEARNING],)

    def test_what_was_tried_on_the_model_goes_before_what_is_worked_out(
        self, demo_club: DemoClub
    ) -> None:
        """Jagna has a usual setting for the frame at the meet, and one for training here."""
        with demo_club.work(writes=True) as session:
            keep(session, 50)
            there = self.on(session, "Bars at the autumn meet", TRAINING)
            elsewhere = self.on(session, "Bars by the door", TRAINING)
        assert (there.version.model_id, there.version.purpose) == (LEANING, USUAL)
        assert (elsewhere.version.model_id, elsewhere.version.purpose) == (HALL, TRAINING)
        assert elsewhere.of_another_model

    def test_a_card_carries_the_usual_one_whatever_is_entered_beside_it(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            [card] = issued.issue(session, CODE_KEY, HALL, [JAGNA])
            keep(session, 50)
            assert in_hand.outdated_of(session, JAGNA) == {}
            assert issued.printed(session, CODE_KEY, HALL, [JAGNA]) == [card]
            assert issued.issue(session, CODE_KEY, HALL, [JAGNA]) == [card]


class TestARotation:
    @pytest.fixture
    def training(self, demo_club: DemoClub) -> DemoClub:
        """Tonight's is for training, and Jagna alone has a setting for it."""
        with demo_club.work(writes=True) as session:
            keep(session, 100)
            view = rotation.change_list(
                session, rotation.to_arrange(session, TONIGHT), [JAGNA, DEFNE]
            )
            asked = replace(view.asked, purpose=TRAINING)
            rotation.change_wishes(session, view, asked)
        return demo_club

    def test_was_ordered_for_other_marks_before(self, training: DemoClub) -> None:
        with training.work() as session:
            view = rotation.rotation(session, TONIGHT)
        assert view.ordered is None or view.ordered.outdated
        assert view.asked.purpose is TRAINING

    def test_goes_by_those_and_says_who_has_none(self, training: DemoClub) -> None:
        with training.work(writes=True) as session:
            view = rotation.order_anew(session, TONIGHT)
            [paper] = order_paper.order_papers(view, Unit.CENTIMETRE, utc_now())
            again = next(one for one in rotation.on_day(session, today()) if one.id == TONIGHT)
        own = view.carried[view.piece.id]
        assert (own[JAGNA].version.purpose, own[DEFNE].version.purpose) == (TRAINING, USUAL)
        assert again.carried == view.carried
        assert view.usual_instead == {USUAL_INSTEAD[TRAINING]: ("Defne Ç.",)}
        assert view.settings_for() == SETTINGS_FOR[TRAINING]
        assert SETTINGS_FOR[TRAINING] in paper.above
        assert [USUAL_INSTEAD[TRAINING] in row.notes for row in paper.rows].count(True) == 1
        assert f"! {SETTINGS_FOR[TRAINING]}" in list(order_lines(view))

    def test_goes_on_by_them_at_the_bars(self, training: DemoClub) -> None:
        with training.work(writes=True) as session:
            view = rotation.order_anew(session, TONIGHT)
            seen = run.run(session, run.begin(session, TONIGHT, view.piece.id))
            setups = {turn.athlete_id: turn.setup for turn in seen.run.turns}
            keep(session, 50)
            changed = run.run(session, seen.id)
        own = view.carried[view.piece.id]
        assert setups == {one: own[one].transfer.best.setup for one in (JAGNA, DEFNE)}
        assert seen.usual_instead == {DEFNE: USUAL_INSTEAD[TRAINING]}
        assert (set(seen.wanted), set(changed.wanted)) == (set(), {JAGNA})

    def test_once_more_is_for_the_same(self, training: DemoClub) -> None:
        with training.work(writes=True) as session:
            view = rotation.order_anew(session, TONIGHT)
            made = rotation.once_more(session, view, today())
        assert made.asked.purpose is TRAINING

    def test_of_before_is_for_competition(self, demo_club: DemoClub) -> None:
        """Its wishes say nothing of it."""
        with demo_club.work() as session:
            view = rotation.rotation(session, TONIGHT)
            told = {key: value for key, value in view.row.asked.items() if key != "purpose"}
        assert type(view.asked).from_data(told).purpose is USUAL


class TestSeveralGroups:
    """One after the other on one apparatus, and the first of them in training settings."""

    EARLY, LATE = "Early", "Late"

    @pytest.fixture
    def evening(self, demo_club: DemoClub) -> DemoClub:
        with demo_club.work(writes=True) as session:
            for athlete_id in (JAGNA, DEFNE):
                keep(session, 100, athlete_id=athlete_id)
            view = rotation.rotation(session, TONIGHT)
            groups = {self.EARLY: [JAGNA, 3], self.LATE: [DEFNE, 4]}
            asked = OrderRequest().with_groups(groups, {self.EARLY: TRAINING})
            ids = [JAGNA, DEFNE, 3, 4]
            made = rotation.add_rotation(session, "Evening", today(), view.piece.id, ids, asked)
            rotation.order_anew(session, made.id)
        return demo_club

    def made(self, session: ClubSession) -> RotationView:
        return max(rotation.on_day(session, today()), key=lambda view: view.id)

    def test_each_goes_by_its_own(self, evening: DemoClub) -> None:
        with evening.work() as session:
            listed = self.made(session)
            view = rotation.rotation(session, listed.id)
            papers = order_paper.order_papers(view, Unit.CENTIMETRE, utc_now())
        assert view.carried == listed.carried
        own = {number: one.version.purpose for number, one in view.carried[view.piece.id].items()}
        assert own == {JAGNA: TRAINING, 3: USUAL, DEFNE: USUAL, 4: USUAL}
        assert list(view.usual_instead) == [USUAL_INSTEAD[TRAINING]]
        assert [view.settings_for(number) for number in (None, 0, 1)] == [
            "",
            SETTINGS_FOR[TRAINING],
            SETTINGS_FOR[USUAL],
        ]
        assert [SETTINGS_FOR[TRAINING] in paper.above for paper in papers] == [True, False]
        told = "\n".join(order_lines(view))
        assert "Early, after 0:00 min. Settings for training" in told

    def test_at_the_bars_its_part_and_whoever_joins_it_too(self, evening: DemoClub) -> None:
        with evening.work(writes=True) as session:
            view = self.made(session)
            first = run.loaded(session, run.begin(session, view.id, view.piece.id, group=0))
            joined = run.run(session, run.join(session, first, first.number, [5]).id)
            setups = {turn.athlete_id: turn.setup for turn in joined.run.turns}
        assert joined.asked.purpose is TRAINING
        assert (set(joined.wanted), set(joined.usual_instead)) == (set(), {3, 5})
        assert setups[JAGNA] == view.carried[view.piece.id][JAGNA].transfer.best.setup

    def test_of_the_last_one_left_they_count_for_all(self, evening: DemoClub) -> None:
        with evening.work(writes=True) as session:
            view = rotation.change_list(session, self.made(session), [JAGNA, 3])
            again = rotation.once_more(session, view, today())
        assert (view.asked.groups, view.asked.purpose) == ((), TRAINING)
        assert again.carried[view.piece.id][JAGNA].version.purpose is TRAINING

    def test_whoever_changes_the_group_goes_by_the_other_one_s(self, evening: DemoClub) -> None:
        with evening.work(writes=True) as session:
            view = self.made(session)
            moved = view.asked.with_groups({self.EARLY: [3], self.LATE: [JAGNA, DEFNE, 4]})
            changed = rotation.change_wishes(session, view, moved)
        assert changed.carried[view.piece.id][JAGNA].version.purpose is USUAL

    def test_once_more_and_for_less_of_them_each_keeps_its_own(self, evening: DemoClub) -> None:
        with evening.work() as session:
            view = self.made(session)
            for_fewer = rotation.for_these(view, view.piece.id, [JAGNA, DEFNE])
            read = OrderRequest.from_data(view.asked.to_data())
        assert read == view.asked
        assert [for_fewer.purpose_of(one) for one in (JAGNA, DEFNE)] == [TRAINING, USUAL]


class TestBesideThem:
    def test_marks_that_were_typed_stay_where_the_scale_is_told_otherwise(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            printed = models.model(session, TRAVEL).model
            read = {axis.key: f"mark {axis.scale.label(0)}" for axis in printed.axes}
            ana = athletes.add(session, Person("Neu", "Ana")).id
            stood = wider(setting_of_setup(printed, (0, 0, 0)), 7)  # as the scale was told before
            for purpose in (USUAL, TRAINING):
                settings.keep_setting(session, ana, TRAVEL, stood, "", read, purpose=purpose)
            assert typed_marks.keep(session, TRAVEL, "corrected").count == 2
            versions = {one.purpose: one.version for one in settings.current(session, ana)}
        assert versions == {USUAL: 2, TRAINING: 2}

    def test_where_two_entries_become_one_each_is_chosen_or_taken(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            ana = athletes.add(session, Person("Neu", "Ana")).id
            usual = settings.latest(session, JAGNA, HALL)
            assert usual is not None
            settings.keep_setting(session, ana, HALL, wider(usual.setting, 10))
            keep(session, 50, athlete_id=ana)
            keep(session, 90, LEARNING, athlete_id=ana)
            keep(session, 70)
            both = same_person.compare(session, JAGNA, ana)
            keys = {question.key: question.about for question in both.questions}
            takes = {key: key == "model1_training" for key in keys}
            same_person.unite(session, both, takes, both.seen)
            found = spreads_mm(session)
        assert keys["model1"] == "Setting for Hall frame A"
        assert keys["model1_training"] == "Setting for Hall frame A, for training"
        assert (found["Hall frame A"], found["Hall frame A, for training"]) == (1700, 1760)
        assert found["Hall frame A, for learning"] == 1800

    def test_the_list_of_athletes_says_what_for(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            assert not settings.any_beside(session)
            keep(session, 50)
            keep(session, 90, LEARNING)
            assert settings.any_beside(session)
            told, _ = marks_on_scales.marks_of_each(session, [JAGNA, DEFNE])
        assert {one: [marks.wanted_for for marks in of_one] for one, of_one in told.items()} == {
            JAGNA: [
                "Hall frame A",
                "Hall frame A, for training",
                "Hall frame A, for learning",
                "Leaning frame C",
            ],
            DEFNE: ["Hall frame A"],
        }


HEAD = "Family name;Given name;Model;Purpose;Low rail height (cm);High rail height (cm);"
HEAD += "Rail spread (cm);Rail spread accepts (± cm);Reason"
OF_JAGNA = "Bąkiewicz;Jagna;Hall frame A"


class TestLists:
    def look(self, session: ClubSession, *rows: str) -> Look:
        content = "\r\n".join([HEAD, *rows]).encode()
        return coach_lists.look(session, Squad(session), content, "squad.csv")

    def test_go_out_with_a_column_for_it_and_come_back_as_nothing_new(
        self, demo_club: DemoClub
    ) -> None:
        with demo_club.work(writes=True) as session:
            keep(session, 50)
            rows = list(export_rows(session))
            purposes = [row.purpose for row in rows if row.given_name == "Jagna"]
            content = squad_csv(rows, squad_columns().axes, purposes=True)
            seen = coach_lists.look(session, Squad(session), content, "squad.csv")
        assert purposes == ["", "training", ""]
        assert (list(change_lines(seen)), list(open_lines(seen))) == ([], [])

    def test_bring_one_in_beside_the_usual_one(self, demo_club: DemoClub) -> None:
        row = f"{OF_JAGNA};Training;170;250;180;2.5;wide"
        with demo_club.work(writes=True) as session:
            seen = self.look(session, row)
            assert list(change_lines(seen)) == [
                f"row 2: Bąkiewicz, Jagna: Hall frame A, for training, {told}"
                for told in (
                    "low rail height: 170.0 cm",
                    "high rail height: 250.0 cm",
                    "rail spread: 180.0 cm ± 2.5 cm",
                )
            ]
            coach_lists.take(session, Squad(session), seen)
            kept = settings.latest(session, JAGNA, HALL, TRAINING)
            usual = settings.latest(session, JAGNA, HALL)
        assert kept is not None
        assert usual is not None
        assert (kept.reason, usual.version) == ("wide", 1)

    def test_bring_both_of_somebody_new_in_any_order(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            rows = (
                "Neu;Ana;Hall frame A;learning;160;240;150;;",
                "Neu;Ana;Hall frame A;;160;240;155;;",
            )
            coach_lists.take(session, Squad(session), self.look(session, *rows))
            [ana] = athletes.find(session, "neu ana")
            assert spreads_mm(session, ana.id) == {
                "Hall frame A": 1550,
                "Hall frame A, for learning": 1500,
            }

    @pytest.mark.parametrize(
        ("row", "fault"),
        [
            (f"{OF_JAGNA};warm-up;170;250;180;;", "write competition, training or learning"),
            ("Bąkiewicz;Jagna;;training;;;;;", "no model that they belong to"),
            ("Bąkiewicz;Jagna;Travel frame B;training;170;250;180;;", "beside the usual one"),
        ],
    )
    def test_say_what_cannot_be_taken(self, demo_club: DemoClub, row: str, fault: str) -> None:
        with demo_club.work(writes=True) as session:
            seen = self.look(session, row)
            told = [*open_lines(seen), *(why for why in _not_taken(seen).values())]
            assert any(fault in line for line in told), told
            with pytest.raises(NotWhole):
                coach_lists.take(session, Squad(session), seen)


def _not_taken(seen: Look) -> Mapping[str, str]:
    return {
        listed.called: listed.why_not
        for person in seen.people
        for listed in person.settings
        if listed.why_not
    }
