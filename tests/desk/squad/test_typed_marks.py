"""Settings that were typed as marks keep them where their model is corrected, or are named."""

import pytest

from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus, calibrations, models
from settingsdesk.desk.squad import athletes, settings, typed_marks
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.typed_marks import AS_PRINTED, in_words, listed_in_words, mark_told
from settingsdesk.domain.hall.calibration import TapedStop, calibrate
from settingsdesk.domain.settings.transfer import setting_of_setup
from tests.conftest import DemoClub


class TestWhatIsKeptOfAMark:
    @pytest.mark.parametrize(
        ("words", "label", "piece"),
        [
            (in_words("5"), "5", None),
            (in_words("III / b", "Bars of the north hall"), "III / b", "Bars of the north hall"),
            (listed_in_words("5", "mark 5"), "5", None),
            (listed_in_words("Loch 5", "mark 5", AS_PRINTED), "5", None),
            (
                listed_in_words("(5)", "mark 5", "Bars by the door: own calibration (some axes)"),
                "5",
                "Bars by the door",
            ),
        ],
    )
    def test_tells_the_label_and_where_it_was_read(
        self, words: str, label: str, piece: str | None
    ) -> None:
        told = mark_told(words)
        assert told is not None
        assert (told["label"], told["piece"]) == (label, piece)

    @pytest.mark.parametrize("words", ["165 (cm, floor to upper edge)", "1,65 m (165.0 cm)", ""])
    def test_is_nothing_where_a_length_was_typed(self, words: str) -> None:
        assert mark_told(words) is None


WINDOW = "Bars by the window"


class TestAModelThatIsCorrected:
    def corrected(self, club: DemoClub, word: str, name: str = "") -> typed_marks.Kept:
        """Ana's marks, kept in such words; then the apparatus may be renamed."""
        with club.work(writes=True) as session:
            [piece] = [one for one in apparatus.all_pieces(session) if one.name == WINDOW]
            ana = athletes.add(session, Person("Neu", "Ana"))
            stops = tuple(0 for _ in piece.model.axes)
            settings.keep_setting(
                session,
                ana.id,
                piece.model_id,
                setting_of_setup(models.model(session, piece.model_id).model, stops),
                as_read={axis.key: word.format(axis.scale.label(0)) for axis in piece.model.axes},
            )
            if name:
                apparatus.change_piece(session, piece.id, name, piece.place, piece.mat_mm)
            return typed_marks.keep(session, piece.model_id, "taped again")

    @pytest.mark.parametrize("word", ["mark {} of %s", "{0} (mark {0}, %s: own calibration)"])
    def test_gives_the_marks_of_the_apparatus_at_which_they_were_read(
        self, demo_club: DemoClub, word: str
    ) -> None:
        kept = self.corrected(demo_club, word % WINDOW)
        assert (kept.count, kept.left) == (1, ())

    @pytest.mark.parametrize("word", ["mark {} of %s", "{0} (mark {0}, %s: own calibration)"])
    def test_names_whose_apparatus_has_another_name_now(
        self, demo_club: DemoClub, word: str
    ) -> None:
        """On the leaflet's scale the same mark is another height."""
        kept = self.corrected(demo_club, word % WINDOW, "Bars of the north")
        assert (kept.count, kept.left) == (0, ("Neu, Ana",))


class TestAnApparatusThatIsCalibrated:
    """Pins go into holes: calibrating moves no athlete from the hole that she was tried on."""

    def high_bar(self, club: DemoClub, words: str, *, another: bool = False) -> tuple[int, int]:
        """Somebody on its mark, kept in such words; then the apparatus is taped."""
        with club.work(writes=True) as session:
            [bar] = apparatus.pieces_of_kind(session, "horizontal_bar")
            if another:
                apparatus.add_piece(session, "High bar of the annexe", "", bar.model_id, 0)
            ana = athletes.add(session, Person("Neu", "Ana"))
            [axis] = bar.model.axes
            settings.keep_setting(
                session,
                ana.id,
                bar.model_id,
                setting_of_setup(bar.model, (2,)),
                as_read={axis.key: words.format(mark=axis.scale.label(2), name=bar.name)},
            )
            readings = [
                TapedStop(stop, axis.scale.length_mm(stop) + 30) for stop in range(axis.scale.count)
            ]
            taped = calibrate(axis.scale, readings)
            calibrations.keep_calibration(session, bar.id, axis.key, taped, today())
        return bar.id, ana.id

    @pytest.mark.parametrize("words", ["mark {mark}", "mark {mark} of {name}"])
    def test_marks_of_the_printed_scale_are_those_of_the_only_one_of_its_model(
        self, demo_club: DemoClub, words: str
    ) -> None:
        bar_id, ana = self.high_bar(demo_club, words)
        with demo_club.work(writes=True) as session:
            bar = apparatus.piece(session, bar_id)
            assert typed_marks.read_at(session, bar) >= 1
            typed_marks.keep(session, bar.model_id, "taped", bar.name)
            [version] = settings.current(session, ana)
            now = settings.on_piece(session, [ana], bar)[ana]

        assert now.transfer.best.setup == (2,)
        [told] = version.as_read.values()
        assert told == f"mark {bar.model.axes[0].scale.label(2)} of {bar.name}"

    def test_where_there_are_two_of_the_model_nobody_knows_of_which_it_was(
        self, demo_club: DemoClub
    ) -> None:
        bar_id, ana = self.high_bar(demo_club, "mark {mark}", another=True)
        with demo_club.work(writes=True) as session:
            bar = apparatus.piece(session, bar_id)
            typed_marks.keep(session, bar.model_id, "taped", bar.name)
            [version] = settings.current(session, ana)
        assert version.version == 1
