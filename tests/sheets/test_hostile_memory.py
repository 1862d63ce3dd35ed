"""Hostile files end in a sentence within 64 MiB, read in a process of their own (ASVS 15.2.2)."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.sheets.books import SHEET, XMLNS, with_parts, with_sheet, with_strings

READ_WITHIN_64_MIB = """
import os, resource, sys, warnings
from pathlib import Path
from settingsdesk.sheets.reading import read_table
from settingsdesk.sheets.refusals import FileRefused

warnings.simplefilter("ignore")

def read(file):
    content = file.read_bytes()
    now = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (now + 67_108_864,) * 2)
    try:
        print(len(read_table(content, file.name).rows), "rows")
    except FileRefused as refused:
        print(type(refused).__name__)

for line in sys.stdin:
    if not os.fork():
        read(Path(line.rstrip()))
        break
    print("exit", os.wait()[1], flush=True)
"""
"""A process for each file, forked from one that has imported all it needs: that takes longest."""


def text_of_60_megabytes() -> str:
    """Packed a little less tightly than would be refused for that."""
    return "".join(f"{number:07d}" + "a" * 113 for number in range(500_000))


def cell_in_the_last_column() -> bytes:
    """Drove a full reader to 2.6 GB."""
    return with_sheet('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')


def entities_in_entities() -> bytes:
    """Ten levels of ten."""
    levels = "".join(f'<!ENTITY e{level} "{f"&e{level - 1};" * 10}">' for level in range(1, 10))
    bomb = f'<!DOCTYPE x [<!ENTITY e0 "bars">{levels}]><worksheet>&e9;</worksheet>'
    return with_parts({SHEET: bomb})


def cells_in_one_row() -> bytes:
    """Without a reference each, so that they take the least room in the file."""
    return with_sheet("<row>" + "".join(f"<c/>{n:x}" for n in range(200_000)) + "</row>")


def formats_without_end() -> bytes:
    """The format table is read as a whole, before the first row."""
    fonts = "".join(f'<font><sz val="{number}"/></font>' for number in range(245_000))
    return with_parts({"xl/styles.xml": f"<styleSheet {XMLNS}><fonts>{fonts}</fonts></styleSheet>"})


def attributes_without_end() -> bytes:
    """Two million attributes of one tag took more than 1 GB."""
    return with_sheet("<row " + " ".join(f'a{number}=""' for number in range(990_000)) + "/>")


def text_shared_by_many() -> bytes:
    """6 MB in the file, 6 GB if every cell tidied its own copy."""
    cells = '<row><c t="s"><v>0</v></c></row>' * 4_900
    return with_strings(f"<si><t> {'ab' * 16_000}</t></si>", cells)


def one_text_of_60_megabytes() -> bytes:
    """In a single cell."""
    return with_sheet(f'<row><c t="inlineStr"><is><t>{text_of_60_megabytes()}</t></is></c></row>')


def one_comment_of_60_megabytes() -> bytes:
    """Looked at from its beginning with each piece that was read, for almost a minute."""
    return with_sheet(f"<!-- > {text_of_60_megabytes()} --><row/>")


def one_attribute_of_60_megabytes() -> bytes:
    """A tag is held as a whole."""
    return with_sheet(f'<row x="{text_of_60_megabytes()}"/>')


def formats_of_60_megabytes() -> bytes:
    """Few of them, and much text that no format has: they are read at one go."""
    return with_parts(
        {"xl/styles.xml": f"<styleSheet {XMLNS}>{text_of_60_megabytes()}</styleSheet>"}
    )


def texts_that_no_cell_shows() -> bytes:
    """An object for each of them took two seconds."""
    return with_strings("".join(f"<si><t>{n}</t></si>" for n in range(240_000)), "<row/>")


def pieces_of_one_text() -> bytes:
    """Of 240,000 colours."""
    pieces = "".join(f"<r><t>{n}</t></r>" for n in range(240_000))
    return with_strings(f"<si>{pieces}</si>", '<row><c t="s"><v>0</v></c></row>')


def separators_without_end() -> bytes:
    """CSV of ten million blank cells."""
    return b"a,b\n" + b"," * 9_900_000


def lines_without_end() -> bytes:
    """Each separator was tried on all of them, for ten seconds."""
    return b"a,b\n" + b"\n" * 9_900_000


CASES: list[tuple[Callable[[], bytes], str, str]] = [
    (cell_in_the_last_column, "squad.xlsx", "TableTooLarge"),
    (entities_in_entities, "squad.xlsx", "WorkbookPartDefinesEntities"),
    (cells_in_one_row, "squad.xlsx", "RowsOutOfOrder"),
    (formats_without_end, "squad.xlsx", "WorkbookHoldsTooMuch"),
    (attributes_without_end, "squad.xlsx", "WorkbookPartTooDense"),
    (text_shared_by_many, "squad.xlsx", "TableTooLarge"),
    (one_text_of_60_megabytes, "squad.xlsx", "CellTextTooLong"),
    (one_comment_of_60_megabytes, "squad.xlsx", "WorkbookHoldsTooMuch"),
    (one_attribute_of_60_megabytes, "squad.xlsx", "WorkbookHoldsTooMuch"),
    (formats_of_60_megabytes, "squad.xlsx", "WorkbookHoldsTooMuch"),
    (texts_that_no_cell_shows, "squad.xlsx", "WorkbookHoldsTooMuch"),
    (pieces_of_one_text, "squad.xlsx", "CellTextTooLong"),
    (separators_without_end, "squad.csv", "WorkbookHoldsTooMuch"),
    (lines_without_end, "squad.csv", "WorkbookHoldsTooMuch"),
]


@pytest.fixture(scope="module")
def reader() -> Iterator[subprocess.Popen[str]]:
    """Reads each file that it is told the path of."""
    with subprocess.Popen(
        [sys.executable, "-c", READ_WITHIN_64_MIB],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        yield process


@pytest.mark.skipif(sys.platform != "linux", reason="the bound on memory is set the Linux way")
class TestMemory:
    @pytest.mark.parametrize(("build", "name", "outcome"), CASES)
    def test_a_hostile_file_is_answered_within_64_mebibytes(
        self,
        build: Callable[[], bytes],
        name: str,
        outcome: str,
        reader: subprocess.Popen[str],
        tmp_path: Path,
    ):
        """One upload must not take the desk down for everybody at the apparatus."""
        file = tmp_path / name
        file.write_bytes(build())

        assert reader.stdin is not None
        assert reader.stdout is not None
        print(file, file=reader.stdin, flush=True)
        said: list[str] = []
        while not said or not said[-1].startswith(("exit ", "gone")):
            said.append(reader.stdout.readline() or "gone")
        assert said == [f"{outcome}\n", "exit 0\n"]
