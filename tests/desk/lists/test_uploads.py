"""Files that wait between looking at them and keeping them."""

import os
import stat
import time
from pathlib import Path

import pytest

from settingsdesk.config import DataFolder
from settingsdesk.desk.lists.uploads import (
    MOST_WAITING,
    WAITS_SECONDS,
    Sweeping,
    Upload,
    UploadGone,
    WaitingFiles,
    discard_all,
)

SENT = Upload("../../squad.csv", b"Family name\nline two\r\n")


@pytest.fixture
def waiting(tmp_path: Path) -> WaitingFiles:
    return WaitingFiles(tmp_path / "sent", "7 stamp")


class TestWaitingFiles:
    def test_a_file_comes_back_as_it_was_sent(self, waiting: WaitingFiles) -> None:
        assert waiting.find(waiting.keep(SENT)) == SENT

    def test_a_line_break_in_its_name_does_not_reach_its_content(
        self, waiting: WaitingFiles
    ) -> None:
        found = waiting.find(waiting.keep(Upload("a\nb.csv", b"content")))

        assert (found.file_name, found.content) == ("a b.csv", b"content")

    def test_another_session_does_not_find_it(self, waiting: WaitingFiles) -> None:
        """Names of minors are in it: the key alone is not enough."""
        key = waiting.keep(SENT)

        with pytest.raises(UploadGone):
            WaitingFiles(waiting.folder, "8 stamp").find(key)

    @pytest.mark.parametrize("key", ["", "../../../etc/passwd", "\x00", "x" * 5000])
    def test_no_key_leads_out_of_the_folder(self, key: str, waiting: WaitingFiles) -> None:
        waiting.keep(SENT)

        with pytest.raises(UploadGone):
            waiting.find(key)

    def test_what_is_said_of_it_waits_and_goes_with_it(self, waiting: WaitingFiles) -> None:
        """Nobody types the same answers again, and none of them stays behind."""
        key = waiting.keep(SENT)
        waiting.answer(key, "the first")
        waiting.answer(key, "the second")

        assert waiting.find(key) == Upload(SENT.file_name, SENT.content, "the second")
        assert all(stat.S_IMODE(file.stat().st_mode) == 0o600 for file in waiting.folder.iterdir())

        waiting.discard(key)
        assert list(waiting.folder.iterdir()) == []

    def test_nothing_can_be_said_of_a_file_that_waits_no_more(self, waiting: WaitingFiles) -> None:
        key = waiting.keep(SENT)
        waiting.discard(key)

        with pytest.raises(UploadGone):
            waiting.answer(key, "late")
        assert list(waiting.folder.iterdir()) == []

    def test_answers_take_no_other_file_its_place(self, waiting: WaitingFiles) -> None:
        keys = [waiting.keep(SENT) for _ in range(MOST_WAITING)]
        for key in keys:
            waiting.answer(key, "said")

        assert all(waiting.find(key).answers == "said" for key in keys)

    def test_only_its_owner_may_read_it(self, waiting: WaitingFiles) -> None:
        waiting.keep(SENT)

        (file,) = waiting.folder.iterdir()
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert stat.S_IMODE(waiting.folder.stat().st_mode) == 0o700

    def test_after_an_hour_it_is_gone(self, waiting: WaitingFiles) -> None:
        key = waiting.keep(SENT)
        (file,) = waiting.folder.iterdir()
        an_hour_ago = file.stat().st_mtime - WAITS_SECONDS - 1
        os.utime(file, (an_hour_ago, an_hour_ago))

        with pytest.raises(UploadGone, match="choose the file again"):
            waiting.find(key)
        waiting.keep(SENT)
        assert not file.exists()

    def test_what_is_discarded_is_gone_and_may_be_discarded_twice(
        self, waiting: WaitingFiles
    ) -> None:
        key = waiting.keep(SENT)
        waiting.discard(key)
        waiting.discard(key)

        with pytest.raises(UploadGone):
            waiting.find(key)

    def test_they_never_fill_the_disk(self, waiting: WaitingFiles) -> None:
        for _ in range(MOST_WAITING + 5):
            waiting.keep(SENT)

        assert len(list(waiting.folder.iterdir())) == MOST_WAITING


class TestSweeping:
    def test_after_an_hour_nothing_of_it_lies_there_though_nobody_sends_the_next(
        self, tmp_path: Path
    ) -> None:
        """Names of minors do not lie about until the next list comes, in autumn."""
        data = DataFolder.at(tmp_path / "desk")
        for name in ("sent", "photos"):
            waiting = WaitingFiles(data.path / name, "7 stamp")
            old, young = waiting.keep(SENT), waiting.keep(SENT)
            an_hour_ago = time.time() - WAITS_SECONDS - 1
            os.utime(waiting._file(old), (an_hour_ago, an_hour_ago))
            waiting.answer(young, "said just now")

        sweeping = Sweeping(data)
        sweeping.start()
        sweeping.close()

        for name in ("sent", "photos"):
            assert len(list((data.path / name).iterdir())) == 2

    def test_what_was_said_of_a_file_goes_with_it(self, waiting: WaitingFiles) -> None:
        key = waiting.keep(SENT)
        waiting.answer(key, "said just now")
        an_hour_ago = time.time() - WAITS_SECONDS - 1
        os.utime(waiting._file(key), (an_hour_ago, an_hour_ago))
        waiting.keep(SENT)

        assert len(list(waiting.folder.iterdir())) == 1

    def test_where_somebody_is_erased_while_one_comes_it_is_gone(
        self, waiting: WaitingFiles, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """By another worker, between the two halves of keeping it."""
        replace = Path.replace

        def erased_meanwhile(part: Path, file: Path) -> Path:
            discard_all(waiting.folder)
            return replace(part, file)

        monkeypatch.setattr(Path, "replace", erased_meanwhile)

        with pytest.raises(UploadGone):
            waiting.keep(SENT)
