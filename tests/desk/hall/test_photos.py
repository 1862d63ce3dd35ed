"""Photos: what is kept is the picture, and nothing else of the file that was sent."""

import io

import pytest
from PIL import Image

from settingsdesk.desk.hall.photos import (
    MOST_PHOTO_BYTES,
    MOST_SIDE_PX,
    NotAPhoto,
    Photo,
    PhotoTooLarge,
    keep_photo,
    kept_photo,
    read_photo,
)
from settingsdesk.store.errors import NotInThisClub
from settingsdesk.store.work import Store
from tests.conftest import Account, new_account
from tests.desk.checks.pictures import SECRET, jpeg, png, png_bomb

SCRIPT = b"<html><script>alert(1)</script></html>"


def opened(photo: Photo) -> Image.Image:
    return Image.open(io.BytesIO(photo.content))


def is_red(picture: Image.Image, x: int, y: int) -> bool:
    red, _green, blue = picture.convert("RGB").getpixel((x, y))
    return red > 150 > blue


class TestReadPhoto:
    def test_nothing_but_the_picture_is_kept(self):
        """Where a phone was, and whose it is, is nobody's business."""
        sent = jpeg()
        assert SECRET in sent

        photo = read_photo(sent)

        assert SECRET not in photo.content
        assert opened(photo).format == "JPEG"
        assert len(opened(photo).getexif()) == 0
        assert "comment" not in opened(photo).info

    def test_a_program_hidden_behind_a_picture_is_gone(self):
        assert SCRIPT not in read_photo(jpeg() + SCRIPT).content

    def test_a_large_photo_becomes_smaller_and_keeps_its_shape(self):
        photo = read_photo(jpeg(4000, 2000))
        assert (photo.width_px, photo.height_px) == (MOST_SIDE_PX, 800)
        assert opened(photo).size == (MOST_SIDE_PX, 800)

    def test_a_small_one_stays_as_small(self):
        assert opened(read_photo(jpeg(64, 48))).size == (64, 48)

    def test_a_phone_held_upright_gives_an_upright_photo(self):
        """Orientation 6: turned by a quarter to the right before it is shown; left comes up."""
        turned = opened(read_photo(jpeg(64, 48, orientation=6)))
        assert turned.size == (48, 64)
        assert is_red(turned, 24, 8)
        assert not is_red(turned, 24, 56)

    def test_what_is_transparent_in_a_png_becomes_white(self):
        picture = opened(read_photo(png()))
        assert min(picture.getpixel((60, 20))) > 240

    @pytest.mark.parametrize(
        "sent",
        [
            SCRIPT,
            b"",
            b"GIF89a" + b"\0" * 50,
            jpeg()[:200],
            b"\xff\xd8\xff\xe0" + b"A" * 5000,
            b"%PDF-1.7\n",
            png_bomb(2000),
        ],
        ids=["script", "nothing", "gif", "cut off", "head only", "pdf", "png with too few rows"],
    )
    def test_whatever_is_no_picture_is_refused_in_words(self, sent: bytes):
        with pytest.raises(NotAPhoto, match="no JPEG or PNG picture"):
            read_photo(sent)

    @pytest.mark.parametrize("side", [5001, 12_000, 30_000])
    def test_a_picture_that_would_unpack_to_gigabytes_is_refused_by_its_head(self, side: int):
        with pytest.raises(PhotoTooLarge, match="too large"):
            read_photo(png_bomb(side))

    def test_a_small_file_that_would_take_hours_is_refused(self):
        """Each scan of a progressive JPEG is a pass over all pixels."""
        out = io.BytesIO()
        Image.new("RGB", (64, 64), "grey").save(out, "JPEG", progressive=True)
        start = out.getvalue().rindex(b"\xff\xda")
        scan = out.getvalue()[start:-2]

        assert read_photo(out.getvalue()).width_px == 64
        with pytest.raises(NotAPhoto):
            read_photo(out.getvalue()[:-2] + 40 * scan + b"\xff\xd9")

    def test_a_file_that_is_too_long_is_not_opened(self):
        with pytest.raises(PhotoTooLarge, match=r"12\.0 megabytes"):
            read_photo(b"\0" * (MOST_PHOTO_BYTES + 1))


class TestKeptPhotos:
    def test_it_comes_back_as_it_was_kept(self, store: Store, account: Account):
        photo = read_photo(jpeg())
        with store.work(account.club_id, by="Edda", writes=True) as session:
            number = keep_photo(session, photo)
            assert number is not None
            session.expire_all()
            assert kept_photo(session, number) == photo

    def test_another_club_does_not_find_it(self, store: Store, account: Account):
        other = new_account(store, "Hillside", "runa", "Runa")
        with store.work(account.club_id, by="Edda", writes=True) as session:
            number = keep_photo(session, read_photo(jpeg()))
            assert number is not None
        with (
            pytest.raises(NotInThisClub),
            store.work(other.club_id, writes=False) as session,
        ):
            kept_photo(session, number)
