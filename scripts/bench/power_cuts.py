"""Cuts the power under the database, again and again, and looks at what a disk may have kept.

    PYTHONPATH=. python scripts/bench/power_cuts.py [--cuts 1000] [--seed 1]

A process writes in a folder while ``strace`` notes what it asks of the disk. Then the folder is
laid out as it may be after a cut at a random moment: of each file everything before its last
fsync, and of what was written later none, all, half, a prefix, or of each write some of its sectors
of 512 bytes; of the names of files everything before their folder's last fsync, and a prefix of
what came later. What is left must open, be sound, and hold all that was acknowledged before the cut
and each unit of work whole. Done for confirmations of a run beside new settings, for an upgrade,
for a backup, and for one that is put back. The same confirmations with ``synchronous=OFF`` must be
found wrong, or nothing here would be. Prints how many of each there were; its exit status is 1
where anything was wrong. Needs strace.
"""

import argparse
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import event
from sqlalchemy.pool import Pool

from settingsdesk.config import DataFolder
from settingsdesk.desk.backups import archive, restoring
from settingsdesk.desk.demo.club import load
from settingsdesk.desk.opening import make_ready
from settingsdesk.desk.rotations import rotation
from settingsdesk.desk.runs import run as desk_run
from settingsdesk.desk.runs import run_list
from settingsdesk.desk.squad import settings
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.changeover.happenings import FoundAt
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.resources import folder
from settingsdesk.store import migrate
from settingsdesk.store.athletes import how_many
from settingsdesk.store.engine import damage_of
from settingsdesk.store.work import Store
from tests.store.migrations.conftest import add_squad

PASSWORD = "seven lanterns over wet slates"  # of an invented club
CLUB, ATHLETE, MODEL = 1, 1, 1
SECTOR = 512
UNITS = 250
"""So many units of work does the process write that confirms."""

OLD = "0001"
"""The last revision of the tables that an upgrade begins with."""

CALLS = (
    "openat,close,write,pwrite64,lseek,fsync,fdatasync,ftruncate,rename,unlink,unlinkat,mkdir,rmdir"
)


# What is done while the disk is watched; each in a process of its own.


def confirms(place: Path) -> None:
    """Marks are read off in a run, each time others, and every third time a setting is kept."""
    store = Store(DataFolder.at(place).where)
    with store.work(CLUB, writes=False) as session:
        [line] = run_list.under_way(session)
        now = desk_run.loaded(session, line.id)
        kept = settings.latest(session, ATHLETE, MODEL)
        kind = now.piece.model.kind
    version = kept.version if kept else 0
    for number in range(now.number, now.number + UNITS):
        with store.work(CLUB, by="Runa", writes=True) as session:
            stops = tuple(2 + (number + place) % 3 for place in range(len(kind.axes)))
            found = desk_run.loaded(session, line.id)
            desk_run.read_off(session, found, number, stops)
            if number % 3 == 0:
                heights = (1500 + number, 2400 + number, 1650)
                wanted = dict(
                    zip((axis.key for axis in kind.axes), map(Wanted, heights), strict=True)
                )
                settings.keep_setting(session, ATHLETE, MODEL, Setting(kind, wanted))
                version += 1
        _acknowledge(f"{number + 1} {version}")


def confirms_unsynced(place: Path) -> None:
    """The same where nothing is waited for: SQLite leaves the disk to itself."""

    @event.listens_for(Pool, "checkout")
    def _leave_it_to_the_disk(connection: object, *_: object) -> None:
        connection.execute("PRAGMA synchronous = OFF")  # type: ignore[attr-defined]

    confirms(place)


def upgrades(place: Path) -> None:
    """Tables of before are brought to what this version needs."""
    migrate.upgraded(DataFolder.at(place).where).close()
    _acknowledge("upgraded")


def backs_up(place: Path) -> None:
    """A backup of the folder is written into it."""
    data = DataFolder.at(place)
    archive.write(data, data.path / "copy.zip", datetime.now(UTC))
    _acknowledge("backed up")


def restores(place: Path) -> None:
    """Another desk's backup is put in the place of this one."""
    data = DataFolder.at(place)
    with restoring.tried(data, data.path / "came.zip") as ready:
        restoring.put_in(data, ready, datetime.now(UTC))
    _acknowledge("restored")


def _acknowledge(what: str) -> None:
    print(f"acknowledged {what}", flush=True)


# What must hold afterwards; given the folder and what was acknowledged last.


class NotWholeError(Exception):
    """What the cut left is not what it may leave."""


def after_confirmations(place: Path, told: str) -> None:
    """Every acknowledged event is there, the last is whole, and so is the setting beside it."""
    data = DataFolder.at(place)
    _sound(data.database)
    store = Store(data.where)
    try:
        with store.work(CLUB, writes=False) as session:
            [line] = run_list.under_way(session)
            now = desk_run.loaded(session, line.id)
            kept = settings.latest(session, ATHLETE, MODEL)
    finally:
        store.close()
    _must([one.number for one in now.events] == list(range(1, now.number + 1)), "a gap")
    last = now.events[-1].what
    _must(not isinstance(last, FoundAt) or now.piece.setup == last.setup, "an event without marks")
    number, version = map(int, told.split()) if told else (0, 0)
    _must(now.number >= number, f"event {now.number} of {number}: lost")
    _must((kept.version if kept else 0) >= version, f"version {kept and kept.version}: lost")
    of_event = now.number - 1
    is_with_setting = isinstance(last, FoundAt) and of_event % 3 == 0
    _must(
        not is_with_setting
        or (
            kept is not None
            and kept.setting.axes["spread"] == Wanted(1650)
            and _height(kept) == of_event
        ),
        "an event without its setting",
    )


def _height(kept: settings.SettingVersion) -> int:
    return kept.setting.axes["low_rail"].wanted_mm - 1500


def after_upgrade(place: Path, _told: str) -> None:
    """The next start finds the tables of before or of now, and what was in them."""
    data = DataFolder.at(place)
    _sound(data.database)
    store = migrate.upgraded(data.where)
    store.close()
    _sound(data.database)
    _must(migrate.state(data.where) is migrate.State.CURRENT, "it is not current")
    store = Store(data.where)
    with store.installation(writes=False) as session:
        found = how_many(session)
    store.close()
    _must(found == 3, f"{found} athletes")


def after_backup(place: Path, told: str) -> None:
    """The backup is whole or not there; what was acknowledged is there."""
    file = place / "copy.zip"
    _must(file.exists() or not told, "it was acknowledged, and is not there")
    if file.exists():
        (place / "unpacked").mkdir()
        with archive.opened(file) as backup:
            backup.unpack(place / "unpacked")
        _sound(place / "unpacked" / DataFolder.at(place).database.name)
    _sound(DataFolder.at(place).database)


def after_restoring(place: Path, told: str) -> None:
    """The next start finds the desk of before or the one that came, and nothing else."""
    data = DataFolder.at(place)
    restoring.go_on(data)
    store = migrate.upgraded(data.where)
    try:
        make_ready(store, data)
        with store.installation(writes=False) as session:
            came = how_many(session) > 0
    finally:
        store.close()
    _sound(data.database)
    _must(came or not told, "it was acknowledged, and the desk is that of before")
    _must(not list(data.path.glob("restoring.*")), "something is left")


def _sound(database: Path) -> None:
    damage = damage_of(database)
    _must(damage is None, f"damaged: {damage}")


def _must(holds: bool, otherwise: str) -> None:
    if not holds:
        raise NotWholeError(otherwise)


# What a disk keeps.


@dataclass
class File:
    """The content that is surely on the disk, and the writes that may be, in their order."""

    synced: bytearray = field(default_factory=bytearray)
    later: list[tuple[int, bytes | None]] = field(default_factory=list)
    """Where and what; None where the file was cut off there."""

    def sync(self) -> None:
        for where, what in self.later:
            _put(self.synced, where, what)
        self.later.clear()

    def after_a_cut(self, chance: random.Random) -> bytes:
        """What may be on the disk."""
        content = bytearray(self.synced)
        kept = list(self.later)
        match chance.choice(("none", "all", "half", "prefix", "torn", "torn")):
            case "none":
                kept = []
            case "half":
                kept = [one for one in kept if chance.random() < 0.5]
            case "prefix":
                kept = kept[: chance.randrange(len(kept) + 1)]
            case "torn":
                kept = [part for one in kept for part in _sectors(one) if chance.random() < 0.5]
        for where, what in kept:
            _put(content, where, what)
        return bytes(content)


def _sectors(write: tuple[int, bytes | None]) -> Iterator[tuple[int, bytes | None]]:
    where, what = write
    if what is None:
        yield write
        return
    at = where
    while at < where + len(what):
        ends = min((at // SECTOR + 1) * SECTOR, where + len(what))
        yield at, what[at - where : ends - where]
        at = ends


def _put(content: bytearray, where: int, what: bytes | None) -> None:
    if what is None:
        content[where:] = bytes(max(0, where - len(content)))
        return
    content.extend(bytes(max(0, where - len(content))))
    content[where : where + len(what)] = what


@dataclass
class Disk:
    """A folder as its process sees it, and which of its names are surely on the disk."""

    place: Path
    names: dict[Path, File | None] = field(default_factory=dict)
    """Every file by its path; None is a folder."""

    synced: dict[Path, File | None] = field(default_factory=dict)
    later: list[Callable[[dict[Path, File | None]], None]] = field(default_factory=list)
    opened: dict[int, tuple[Path, File | None]] = field(default_factory=dict)
    at: dict[int, int] = field(default_factory=dict)
    acknowledged: str = ""

    @classmethod
    def of(cls, place: Path) -> "Disk":
        """As it lies there, all of it on the disk."""
        names: dict[Path, File | None] = {
            path: None if path.is_dir() else File(bytearray(path.read_bytes()))
            for path in sorted(place.rglob("*"))
        }
        return cls(place, names, dict(names))

    def name(self, change: Callable[[dict[Path, File | None]], None]) -> None:
        """A change of names: at once for whoever looks, on the disk with the folder."""
        change(self.names)
        self.later.append(change)

    def sync_names(self) -> None:
        for change in self.later:
            change(self.synced)
        self.later.clear()

    def lay_out(self, place: Path, chance: random.Random) -> None:
        """The folder as it may be after a cut now."""
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir(parents=True)
        names = dict(self.synced)
        for change in self.later[: chance.choice((0, len(self.later), chance.randrange(99)))]:
            with suppress(KeyError):
                change(names)
        for path, file in sorted(names.items(), key=lambda one: len(one[0].parts)):
            there = place / path.relative_to(self.place)
            there.parent.mkdir(parents=True, exist_ok=True)
            if file is None:
                there.mkdir(exist_ok=True)
            else:
                there.write_bytes(file.after_a_cut(chance))


# What strace notes.

_CALL = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+)")
_TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


def _texts(arguments: str) -> list[bytes]:
    return [bytes.fromhex(one.replace("\\x", "")) for one in _TEXT.findall(arguments)]


def done(disk: Disk, line: str) -> bool:
    """Do to the disk what a line says; whether a cut after it is another than before it."""
    if not (found := _CALL.match(line)) or int(found[3]) < 0:
        return False
    call, arguments, gave = found[1], found[2], int(found[3])
    texts = _texts(arguments)
    number = int(arguments.partition(",")[0]) if arguments[0].isdigit() else -1
    if call == "write" and number == 1:
        for said in texts[0].decode("utf-8", "replace").splitlines():
            _, was, what = said.partition("acknowledged ")
            disk.acknowledged = what if was else disk.acknowledged
        return True
    if call == "openat":
        return _open(disk, Path(texts[0].decode()), arguments, gave)
    if call in ("rename", "unlink", "unlinkat", "mkdir", "rmdir"):
        return _name(disk, call, [Path(text.decode()) for text in texts])
    if number not in disk.opened:
        return False
    _, file = disk.opened[number]
    if call == "close":
        del disk.opened[number]
        return False
    if file is None:
        disk.sync_names()
        return True
    if call == "lseek":
        disk.at[number] = gave
        return False
    return _write(disk, number, file, call, arguments, gave, texts)


def _open(disk: Disk, path: Path, arguments: str, gave: int) -> bool:
    if not path.is_relative_to(disk.place):
        return False
    file = disk.names.get(path)
    is_new = "O_CREAT" in arguments and path not in disk.names
    if is_new:
        file = File()
        disk.name(lambda names: names.__setitem__(path, file))
    elif "O_TRUNC" in arguments and file is not None:
        file.later.append((0, None))
    disk.opened[gave] = path, file
    disk.at[gave] = len(_present(file)) if file is not None and "O_APPEND" in arguments else 0
    return is_new


def _present(file: File) -> bytearray:
    content = bytearray(file.synced)
    for where, what in file.later:
        _put(content, where, what)
    return content


def _name(disk: Disk, call: str, paths: list[Path]) -> bool:
    if not all(path.is_relative_to(disk.place) for path in paths):
        return False
    if call == "rename":
        old, new = paths

        def moved(names: dict[Path, File | None]) -> None:
            for path in [path for path in names if path == old or old in path.parents]:
                names[new / path.relative_to(old)] = names.pop(path)

        disk.name(moved)
    elif call == "mkdir":
        disk.name(lambda names: names.__setitem__(paths[0], None))
    else:
        disk.name(lambda names: names.pop(paths[0]))
    return True


def _write(
    disk: Disk, number: int, file: File, call: str, arguments: str, gave: int, texts: list[bytes]
) -> bool:
    match call:
        case "fsync" | "fdatasync":
            file.sync()
        case "ftruncate":
            file.later.append((int(arguments.rpartition(",")[2]), None))
        case "pwrite64":
            file.later.append((int(arguments.rpartition(",")[2]), texts[0][:gave]))
        case _:
            file.later.append((disk.at[number], texts[0][:gave]))
            disk.at[number] += gave
    return True


# The rounds.

ROUNDS: tuple[tuple[str, Callable[[Path], None], Callable[[Path, str], None]], ...] = (
    ("confirmations", confirms, after_confirmations),
    ("confirmations, synchronous=OFF", confirms_unsynced, after_confirmations),
    ("upgrade", upgrades, after_upgrade),
    ("backup", backs_up, after_backup),
    ("restoring", restores, after_restoring),
)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--cuts", type=int, default=1000, help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", nargs=2, help=argparse.SUPPRESS)
    told = parser.parse_args()
    if told.write:
        shutil._USE_CP_SENDFILE = False  # type: ignore[attr-defined]  # seen by strace as writes
        what, place = told.write
        {name: does for name, does, _ in ROUNDS}[what](Path(place))
        return 0
    failed = False
    with tempfile.TemporaryDirectory() as place:
        for name, _, looks in ROUNDS:
            wrong = _round(Path(place), name, looks, told.cuts, random.Random(told.seed))
            failed |= bool(wrong) is not name.endswith("OFF")
    return 1 if failed else 0


def _round(
    place: Path, name: str, looks: Callable[[Path, str], None], cuts: int, chance: random.Random
) -> int:
    watched = place / "watched"
    shutil.rmtree(watched, ignore_errors=True)
    _prepare(watched, name)
    disk, first = Disk.of(watched), Disk.of(watched)
    lines = _traced(watched, name, place / "calls")
    calls = [number for number, line in enumerate(lines) if done(first, line)]
    moments = sorted(chance.choices(calls, k=cuts))
    wrong: list[str] = []
    acknowledged = ""
    for number, line in enumerate(lines):
        done(disk, line)
        while moments and moments[0] == number:
            moments.pop(0)
            acknowledged = disk.acknowledged
            try:
                disk.lay_out(place / "cut", chance)
                looks(place / "cut", acknowledged)
            except (NotWholeError, SettingsDeskError, OSError, ValueError, KeyError) as error:
                wrong.append(f"{type(error).__name__} {error}")
    synced = sum(" fsync(" in line or " fdatasync(" in line for line in lines)
    print(
        f"{name}: {cuts} cuts over {len(calls)} calls, {synced} of them fsync; acknowledged at the"
        f" last {acknowledged or '-'}; {len(wrong)} wrong"
    )
    for kind in sorted({line.split(":")[0] for line in wrong})[:5]:
        print(f"    {sum(line.startswith(kind) for line in wrong)} {kind}")
    return len(wrong)


def _prepare(place: Path, name: str) -> None:
    """What is there before."""
    data = DataFolder.at(place)
    if name == "upgrade":
        _old(data)
        return
    store = migrate.upgraded(data.where)
    if name != "restoring":
        _a_run(store)
    make_ready(store, data)
    store.close()
    if name == "restoring":
        came = DataFolder.at(place.with_name("came"))
        shutil.rmtree(came.path, ignore_errors=True)
        came = DataFolder.at(came.path)
        store = migrate.upgraded(came.where)
        _a_run(store)
        make_ready(store, came)
        store.close()
        archive.write(came, place / "came.zip", datetime.now(UTC))


def _a_run(store: Store) -> None:
    load(store, folder("seed"), PASSWORD)
    with store.work(CLUB, by="Runa", writes=True) as session:
        piece_id = rotation.rotation(session, 1).piece.id
        desk_run.begin(session, 1, piece_id)


def _old(data: DataFolder) -> None:
    """Tables of an earlier version, with a club and three athletes."""
    revisions = data.path / "revisions"
    shutil.copytree(Path(migrate.__file__).with_name("migrations"), revisions)
    for file in (revisions / "versions").glob("*.py"):
        if file.name[:4] > OLD:
            file.unlink()
    migrate.upgrade(data.where, str(revisions))
    shutil.rmtree(revisions)
    add_squad(data.database, "Ash", "Birch", "Cedar")


def _traced(place: Path, name: str, notes: Path) -> list[str]:
    """What the process asked of the disk, line by line."""
    subprocess.run(
        [
            *("strace", "-f", "-xx", "-s", "20000000", "-e", f"trace={CALLS}", "-o", str(notes)),
            *(sys.executable, __file__, "--write", name, str(place)),
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    with notes.open() as lines:
        return [line for line in lines if _CALL.match(line)]


if __name__ == "__main__":
    sys.exit(main())
