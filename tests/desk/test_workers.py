"""What the workers of a desk have in common is the same for each, and goes with none of them."""

import os
import stat
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from settingsdesk.config import DataFolder
from settingsdesk.desk.workers import OneWorker, SeveralWorkers, Workers, workers_of
from settingsdesk.store.errors import NoRoomLeft

HOLDS_A_TURN = (
    "import pathlib, sys, time\n"
    "from settingsdesk.desk.workers import SeveralWorkers\n"
    "worker = SeveralWorkers(pathlib.Path(sys.argv[1]))\n"
    "assert worker.is_first()\n"
    "with worker.changing('counted') as notes:\n"
    "    notes['by'] = 'one that is killed'\n"
    "    print(worker.me, flush=True)\n"
    "    time.sleep(60)\n"
)


@pytest.fixture
def several(tmp_path: Path) -> tuple[SeveralWorkers, SeveralWorkers]:
    """Two workers of one desk."""
    return SeveralWorkers(tmp_path / "workers"), SeveralWorkers(tmp_path / "workers")


@pytest.fixture(params=["one", "several"])
def both(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Workers, Workers]:
    """A worker that is alone, seen twice, and two of one desk: what holds for one holds for all."""
    if request.param == "one":
        alone = OneWorker()
        return alone, alone
    return SeveralWorkers(tmp_path / "workers"), SeveralWorkers(tmp_path / "workers")


class TestWhoServes:
    def test_a_desk_on_a_file_is_served_by_one(self, data: DataFolder, tmp_path: Path) -> None:
        """Nothing is written that nobody else reads."""
        alone = workers_of(replace(data, server=""))
        with alone.changing("searches") as notes:
            notes["a"] = 1

        assert alone.folder is None
        assert not (data.path / "workers").exists()

    def test_one_on_a_server_may_be_served_by_several(self, tmp_path: Path) -> None:
        served = DataFolder(tmp_path, server="postgresql://desk@db.example/desk")

        assert workers_of(served).folder == tmp_path / "workers"

    def test_on_windows_there_is_never_another(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """None of its files would be replaced while another process reads it there."""
        monkeypatch.setattr(sys, "platform", "win32")
        served = DataFolder(tmp_path, server="postgresql://desk@db.example/desk")

        assert workers_of(served).folder is None

    def test_each_is_known_to_all_until_it_ends(
        self, several: tuple[SeveralWorkers, SeveralWorkers]
    ) -> None:
        one, other = several

        assert one.me != other.me
        assert one.is_there(other.me)
        assert one.is_there(one.me)
        assert not one.is_there("never here")


class TestNotes:
    def test_what_one_keeps_another_reads(self, both: tuple[Workers, Workers]) -> None:
        one, other = both
        with one.changing("counted") as notes:
            notes["a"] = {"b": [1, None, "é"]}
        with other.changing("counted") as notes:
            assert notes == {"a": {"b": [1, None, "é"]}}
        with other.changing("another") as notes:
            assert notes == {}

    def test_of_many_that_change_them_at_once_none_is_lost(
        self, both: tuple[Workers, Workers]
    ) -> None:
        def count(worker: Workers) -> None:
            for _ in range(50):
                with worker.changing("counted") as notes:
                    notes["n"] = notes.get("n", 0) + 1

        threads = [threading.Thread(target=count, args=(worker,)) for worker in both * 4]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

        with both[0].changing("counted") as notes:
            assert notes == {"n": 400}

    def test_only_their_owner_reads_them(
        self, several: tuple[SeveralWorkers, SeveralWorkers]
    ) -> None:
        several[0].is_first()
        several[0].tell("erased")
        with several[0].changing("counted") as notes:
            notes["a"] = 1

        files = [several[0].folder, *several[0].folder.iterdir()]
        assert len(files) > 4
        assert [stat.S_IMODE(file.stat().st_mode) & 0o077 for file in files] == [0] * len(files)

    def test_what_cannot_be_read_is_nothing(
        self, several: tuple[SeveralWorkers, SeveralWorkers]
    ) -> None:
        (several[0].folder / "counted.json").write_text("{half of")

        with several[0].changing("counted") as notes:
            assert notes == {}

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="no disk here is always full")
    def test_a_full_disk_is_told_and_leaves_what_was_there(
        self, several: tuple[SeveralWorkers, SeveralWorkers]
    ) -> None:
        with several[0].changing("counted") as notes:
            notes["a"] = 1
        (several[0].folder / "counted.json.part").symlink_to("/dev/full")
        with pytest.raises(NoRoomLeft), several[0].changing("counted") as notes:
            notes["a"] = 2

        (several[0].folder / "counted.json.part").unlink()
        with several[1].changing("counted") as notes:
            assert notes == {"a": 1}


class TestTelling:
    def test_all_hear_that_it_has_happened_once_more(self, both: tuple[Workers, Workers]) -> None:
        one, other = both
        before = other.told("erased")
        one.tell("erased")
        then = other.told("erased")
        one.tell("erased")

        assert len({before, then, other.told("erased")}) == 3
        assert one.told("erased") == other.told("erased")


class TestOneThatIsKilled:
    def test_its_turn_goes_on_its_notes_are_whole_and_another_is_first(
        self, several: tuple[SeveralWorkers, SeveralWorkers]
    ) -> None:
        """The others go on as if it had never begun."""
        one, _ = several
        command = [sys.executable, "-c", HOLDS_A_TURN, str(one.folder)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as killed:
            assert killed.stdout is not None
            name = killed.stdout.readline().strip()
            assert one.is_there(name)
            assert not one.is_first()
            killed.kill()

        assert not one.is_there(name)
        with one.changing("counted") as notes:
            assert notes == {}
        assert one.is_first()
        assert one.is_first()
        assert not several[1].is_first()

    def test_nothing_of_it_lies_about_when_another_comes(
        self, several: tuple[SeveralWorkers, SeveralWorkers]
    ) -> None:
        """A worker that is put in another's place once a day leaves no thousand files in a year."""
        one, other = several
        (one.folder / "of-one-that-was-killed.living").touch()
        names = {one.me, other.me}

        assert {file.stem for file in one.folder.glob("*.living")} == names

    @pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
    def test_a_fork_is_another_worker(self, several: tuple[SeveralWorkers, SeveralWorkers]) -> None:
        """A server reads the program once and forks its workers from it."""
        one, other = several
        assert one.is_first()
        program = (
            "import os, pathlib, sys\n"
            "from settingsdesk.desk.workers import SeveralWorkers\n"
            "worker = SeveralWorkers(pathlib.Path(sys.argv[1]))\n"
            "names = [worker.me]\n"
            "said, say = os.pipe()\n"
            "if not os.fork():\n"
            "    os.write(say, f'{worker.me} {worker.is_first()}'.encode()); os._exit(0)\n"
            "os.wait()\n"
            "print(worker.me, os.read(said, 99).decode())\n"
        )
        told = subprocess.run(
            [sys.executable, "-c", program, str(one.folder)],
            capture_output=True,
            text=True,
            check=True,
        ).stdout.split()

        assert told[0] != told[1]
        assert told[2] == "False"
        assert not other.is_there(told[1])
