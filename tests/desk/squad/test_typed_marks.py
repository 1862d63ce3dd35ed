"""Settings that were typed as marks keep them where their model is corrected, or are named."""

import pytest

from settingsdesk.desk.hall import apparatus, models
from settingsdesk.desk.squad import athletes, settings, typed_marks
from settingsdesk.desk.squad.athletes import Person
from settingsdesk.desk.squad.typed_marks import AS_PRINTED, in_words, listed_in_words, mark_told
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
