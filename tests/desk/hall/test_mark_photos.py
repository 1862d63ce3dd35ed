"""Where a mark is read: a line of words and a small photo, kept once and sent to other clubs."""

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import select

from settingsdesk.desk.hall import apparatus, apparatus_sheets, mark_photos, models, photos
from settingsdesk.desk.hall.mark_photos import ReadAt, WordsTooLong
from settingsdesk.desk.hall.photos import MOST_SMALL_BYTES, read_small_photo
from settingsdesk.desk.meets import erasing
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.domain.base.kinds import NoSuchAxis
from settingsdesk.domain.hall.apparatus_sheet import NotASheet, from_bytes, to_bytes
from settingsdesk.store import photos_taken
from settingsdesk.store.checks import Photo
from settingsdesk.store.work import Store
from tests.conftest import Account, DemoClub
from tests.databases import Databases, Where
from tests.desk.checks.pictures import SECRET, jpeg

FRAME_A, BARS = 1, 1
AT_SLEEVE = "Read at the lower edge of the sleeve"


def noise(side: int = 1600) -> bytes:
    """A photo of which hardly anything can be left out: as many bytes as there may be."""
    picture = Image.effect_noise((side, side), 200).convert("RGB")
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=95)
    return out.getvalue()


def say(club: DemoClub, words: str = AT_SLEEVE, axis: str = "low_rail", photo: bytes = b"") -> None:
    with club.work(writes=True) as session:
        picture = read_small_photo(photo) if photo else None
        mark_photos.keep(session, FRAME_A, axis, words, picture)


def told(club: DemoClub) -> dict[str, ReadAt]:
    with club.work() as session:
        return mark_photos.of_model(session, FRAME_A)


def kept_photos(club: DemoClub) -> int:
    with club.work() as session:
        return len(session.scalars(select(Photo.id)).all())


@pytest.fixture
def visitor(
    one_club: tuple[Where, Account], tmp_path: Path, databases: Databases
) -> Iterator[tuple[Store, int]]:
    """Another club, on a desk of its own, with nothing on it."""
    store = Store(databases.copied(one_club[0], tmp_path / "visitor.sqlite3"))
    yield store, one_club[1].club_id
    store.close()


class TestSmallPhotos:
    def test_any_photo_becomes_one_that_a_phone_loads_at_once(self) -> None:
        small = read_small_photo(noise())
        assert len(small.content) <= MOST_SMALL_BYTES
        assert max(small.width_px, small.height_px) <= 640

    def test_nothing_but_the_picture_is_kept(self) -> None:
        assert SECRET not in read_small_photo(jpeg()).content


class TestSaying:
    def test_words_and_photo_are_kept_for_one_adjustment(self, demo_club: DemoClub) -> None:
        say(demo_club, photo=jpeg())
        [at] = told(demo_club).values()
        assert (at.words, at.width_px, at.height_px) == (AT_SLEEVE, 64, 48)
        assert at.photo_id is not None

    def test_other_words_leave_the_photo_and_another_photo_takes_its_place(
        self, demo_club: DemoClub
    ) -> None:
        """No photo stays behind that no page shows."""
        say(demo_club, photo=jpeg())
        before = told(demo_club)["low_rail"]
        say(demo_club, "Read at the collar")
        assert told(demo_club)["low_rail"].photo_id == before.photo_id
        say(demo_club, photo=jpeg(80, 60))
        assert told(demo_club)["low_rail"].width_px == 80
        assert kept_photos(demo_club) == 1

    def test_nothing_said_and_no_photo_is_nothing_kept(self, demo_club: DemoClub) -> None:
        say(demo_club, photo=jpeg())
        with demo_club.work(writes=True) as session:
            mark_photos.keep(session, FRAME_A, "low_rail", "", without_photo=True)
        assert told(demo_club) == {}
        assert kept_photos(demo_club) == 0
        say(demo_club, "")
        assert told(demo_club) == {}

    def test_more_than_a_line_or_no_such_adjustment_is_refused(self, demo_club: DemoClub) -> None:
        with pytest.raises(WordsTooLong, match="120 characters or fewer"):
            say(demo_club, "x" * 121)
        with pytest.raises(NoSuchAxis):
            say(demo_club, axis="table")

    def test_a_model_takes_its_photos_along(self, demo_club: DemoClub) -> None:
        with demo_club.work(writes=True) as session:
            [beam] = [one for one in models.all_models(session) if one.model.name == "Beam A"]
            other = models.add_model(session, replace(beam.model, name="Beam Z"))
            mark_photos.keep(session, other.id, "beam", AT_SLEEVE, read_small_photo(jpeg()))
            mark_photos.take_away(session, other.id)
        assert kept_photos(demo_club) == 0


class TestAtTheBars:
    def test_it_is_told_while_something_is_set(self, demo_club: DemoClub) -> None:
        say(demo_club)
        with demo_club.work(writes=True) as session:
            bars = apparatus.piece(session, BARS)
            apparatus.read_off(session, BARS, (2, 2, 20), "")
            desk_rotation.order_anew(session, 1)
            run_id = desk_run.begin(session, 1, bars.id)
            view = desk_run.run(session, run_id)
        assert view.run.stage.value == "setting"
        assert view.read_at["low_rail"].words == AT_SLEEVE


class TestTheApparatusSheet:
    def test_takes_it_to_other_clubs_encoded_anew_and_twice_changes_nothing(
        self, demo_club: DemoClub, visitor: tuple[Store, int]
    ) -> None:
        say(demo_club, photo=jpeg())
        content = self.sheet(demo_club)
        store, club_id = visitor
        with store.work(club_id, by="Edda", writes=True) as session:
            does = [line.does for line in apparatus_sheets.take(session, content).lines]
            assert any("says where its marks are read: low rail height" in one for one in does)
            model_id = models.id_of(session, "Hall frame A")
            [at] = mark_photos.of_model(session, model_id).values()
            assert at.words == AT_SLEEVE
            assert photos.kept_photo(session, at.photo_id or 0).width_px == 64
            assert not apparatus_sheets.look(session, content).changes

    def test_leaves_what_the_club_says_itself(
        self, demo_club: DemoClub, visitor: tuple[Store, int]
    ) -> None:
        content = self.sheet(demo_club)
        store, club_id = visitor
        with store.work(club_id, by="Edda", writes=True) as session:
            apparatus_sheets.take(session, content)
            model_id = models.id_of(session, "Hall frame A")
            mark_photos.keep(session, model_id, "low_rail", "At the red line")
        say(demo_club)
        with store.work(club_id, by="Edda", writes=True) as session:
            apparatus_sheets.take(session, self.sheet(demo_club))
            assert mark_photos.of_model(session, model_id)["low_rail"].words == "At the red line"

    def test_without_it_is_read_by_desks_of_before(self, demo_club: DemoClub) -> None:
        say(demo_club)
        with demo_club.work() as session:
            whole = apparatus_sheets.export(session, [BARS], "Hall")
            plain = apparatus_sheets.export(session, [BARS], "Hall", with_marks=False)
        assert (whole.version, plain.version) == (3, 1)

    def test_a_picture_that_is_none_is_refused_as_a_whole(
        self, demo_club: DemoClub, visitor: tuple[Store, int]
    ) -> None:
        say(demo_club, photo=jpeg())
        sheet = from_bytes(self.sheet(demo_club))
        [mark] = sheet.marks
        spoilt = to_bytes(replace(sheet, marks=(replace(mark, photo=b"<script>"),)))
        store, club_id = visitor
        with (
            pytest.raises(NotASheet, match="is no picture that can be read"),
            store.work(club_id, by="Edda", writes=True) as session,
        ):
            apparatus_sheets.take(session, spoilt)
        with store.work(club_id, writes=False) as session:
            assert apparatus.all_pieces(session) == []

    def sheet(self, club: DemoClub) -> bytes:
        with club.work() as session:
            return apparatus_sheets.file_of(apparatus_sheets.export(session, [BARS], "Hall"))


class TestErasing:
    def test_a_photo_of_a_mark_is_among_those_to_look_through(self, demo_club: DemoClub) -> None:
        """Nobody is to be on one, and somebody may be."""
        say(demo_club, photo=jpeg())
        with demo_club.work(writes=True) as session:
            [taken] = photos_taken.all_taken(session)
            assert (taken.apparatus, taken.words) == ("Hall frame A", (AT_SLEEVE,))
            erasing.erase(session, 1, [taken.id])
        assert told(demo_club)["low_rail"] == ReadAt(AT_SLEEVE)
