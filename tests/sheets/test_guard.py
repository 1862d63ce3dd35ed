"""The look at an uploaded file before it is parsed (ASVS 5.2.1, 5.2.2, 5.2.3)."""

from io import BytesIO
from zipfile import ZIP_BZIP2, ZipFile

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from settingsdesk.sheets import guard
from settingsdesk.sheets.guard import SheetFormat, check_upload
from settingsdesk.sheets.refusals import (
    FileIsEmpty,
    FileIsLocked,
    FileIsMarkup,
    FileIsMisnamed,
    FileIsNotText,
    FileIsOldWorkbook,
    FileIsOtherDocument,
    FileIsPacked,
    FileIsPdf,
    FileIsPicture,
    FileIsTooLarge,
    FileRefused,
    WorkbookHoldsTooMuch,
    WorkbookIsDamaged,
    WorkbookPartDefinesEntities,
    WorkbookPartNotPlain,
    WorkbookPartTooDense,
    WorkbookUnpacksTooLarge,
)
from tests.sheets.books import CONTENT_TYPES, SHEET, book, packed, parts_of, saved, with_parts

COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(504)
SOUND = saved(book(["Family name", "Given name"]))


def refused(content: bytes, file_name: str = "squad.xlsx") -> FileRefused:
    with pytest.raises(FileRefused) as refusal:
        check_upload(content, file_name)
    return refusal.value


def outcome(content: bytes, file_name: str) -> str:
    """The format or the refusal; anything else ends the test."""
    try:
        return check_upload(content, file_name).name
    except FileRefused as refusal:
        return str(refusal)


class TestWhatIsRead:
    def test_a_workbook_is_known_by_its_content(self):
        """What coaches save every day passes."""
        assert check_upload(SOUND, "Squad autumn.XLSX") is SheetFormat.XLSX

    @pytest.mark.parametrize("name", ["squad.csv", "squad.TXT", "squad.tsv"])
    @pytest.mark.parametrize(
        "content",
        [b"Family name;Given name", "Familienname;Ä".encode("cp1252"), "a,b".encode("utf-16")],
    )
    def test_text_is_known_by_its_content(self, content: bytes, name: str):
        """CSV has no mark of its own: it is what is text and nothing else."""
        assert check_upload(content, name) is SheetFormat.CSV


class TestWhatIsChosenByMistake:
    @pytest.mark.parametrize(
        ("content", "refusal"),
        [
            (b"", FileIsEmpty),
            (b" \r\n\t ", FileIsEmpty),
            (COMPOUND, FileIsOldWorkbook),
            (bytes.fromhex("0908100000060500"), FileIsOldWorkbook),
            (COMPOUND + "EncryptedPackage".encode("utf-16-le"), FileIsLocked),
            (COMPOUND + "EncryptionInfo".encode("utf-16-le"), FileIsLocked),
            (b"<html><table><tr><td>Family name</td></tr></table></html>", FileIsMarkup),
            (b"\xef\xbb\xbf\r\n <!DOCTYPE html><p>", FileIsMarkup),
            (b"<?xml version='1.0'?><Workbook/>", FileIsMarkup),
            (b"%PDF-1.7\n", FileIsPdf),
            (b"\x89PNG\r\n\x1a\n", FileIsPicture),
            (b"\xff\xd8\xff\xe0\x00\x10JFIF", FileIsPicture),
            (b"GIF89a", FileIsPicture),
            (b"RIFF\x10\x00\x00\x00WEBPVP8 ", FileIsPicture),
            (b"\x00\x00\x00\x18ftypheic", FileIsPicture),
            (b"II*\x00\x08\x00", FileIsPicture),
            (b"BM\x36\x00\x0c\x00\x00\x00\x00\x00", FileIsPicture),
            (b"Family name,\x00Given name", FileIsNotText),
            (b"\x7fELF\x02\x01\x01\x00", FileIsNotText),
        ],
    )
    @pytest.mark.parametrize("name", ["squad.xlsx", "squad.csv"])
    def test_each_kind_of_file_is_told_apart(
        self, content: bytes, refusal: type[FileRefused], name: str
    ):
        """ "It does not work" helps nobody: the message says what the file is."""
        assert type(refused(content, name)) is refusal

    def test_the_message_says_what_it_is_and_what_to_do(self):
        """A web page under the name of a workbook is what many a program exports."""
        assert str(refused(b"<table>", "start list.xlsx")) == (
            "'start list.xlsx' is a web page or another text in tags, not a workbook: "
            "open it in a spreadsheet program and save it as .xlsx"
        )
        assert str(refused(COMPOUND, "squad.xls")) == (
            "'squad.xls' is a document in an older format, such as .xls: "
            "open it in a spreadsheet program and save it as .xlsx"
        )

    @pytest.mark.parametrize(
        ("content", "name"),
        [
            (SOUND, "squad.csv"),
            (SOUND, "squad.xlsx.exe"),
            (SOUND, ""),
            (b"a,b", "squad.xlsx"),
            (b"a,b", "squad"),
        ],
    )
    def test_a_name_that_says_something_else_than_the_content_is_refused(
        self, content: bytes, name: str
    ):
        """Somebody chose another file than they thought."""
        assert isinstance(refused(content, name), FileIsMisnamed)

    @pytest.mark.parametrize(
        "name", ["../../etc/x.xlsx", "a\x00b\r\n.csv", "\u202exslx.csv", "x" * 999]
    )
    def test_a_strange_file_name_is_shown_on_one_line_and_cut(self, name: str):
        """The name comes from outside; it is a label and never a path (ASVS 5.3.2)."""
        message = str(refused(b"", name))

        assert message.isprintable()
        assert len(message) < 100


class TestPackedFilesThatAreNoWorkbook:
    @pytest.mark.parametrize(
        ("content_type", "kind"),
        [
            ("application/vnd.ms-excel.sheet.macroEnabled.main+xml", "macros"),
            ("application/vnd.ms-excel.sheet.binary.macroEnabled.main", "binary"),
            ("…officedocument.spreadsheetml.template.main+xml", "template"),
            ("…officedocument.wordprocessingml.document.main+xml", "text document"),
            ("…officedocument.presentationml.presentation.main+xml", "presentation"),
        ],
    )
    def test_related_documents_are_named(self, content_type: str, kind: str):
        """Macros are not run, and not even taken in."""
        refusal = refused(packed({CONTENT_TYPES: f'<Types><x t="{content_type}"/></Types>'}))

        assert isinstance(refusal, FileIsOtherDocument)
        assert kind in str(refusal)

    def test_an_open_document_is_named(self):
        """Another office writes it by default."""
        content = packed({"mimetype": "application/vnd.oasis.opendocument.spreadsheet"})

        assert "OpenDocument" in str(refused(content))

    def test_the_strict_variety_is_refused_and_not_read_as_empty(self):
        """The reader would find no row in it, and nobody would know why."""
        content = with_parts(
            {"xl/workbook.xml": '<workbook xmlns="http://purl.oclc.org/ooxml/spreadsheetml/main"/>'}
        )

        assert "strict" in str(refused(content))

    def test_a_folder_of_files_is_named(self):
        """Downloads come packed."""
        assert isinstance(refused(packed({"squad.csv": "a,b"})), FileIsPacked)
        assert isinstance(refused(packed({CONTENT_TYPES: "<Types/>"})), FileIsPacked)

    @pytest.mark.parametrize("end", [4, 30, 500, -10])
    def test_half_a_workbook_is_damaged(self, end: int):
        """A download that broke off."""
        assert isinstance(refused(SOUND[:end]), WorkbookIsDamaged)

    def test_a_byte_gone_wrong_is_noticed(self):
        """A memory stick that was pulled out too early."""
        middle = SOUND.index(SHEET.encode()) + len(SHEET) + 40
        broken = SOUND[:middle] + bytes([SOUND[middle] ^ 0xFF]) + SOUND[middle + 1 :]

        assert isinstance(refused(broken), WorkbookIsDamaged)


class TestBounds:
    def test_a_file_of_50_megabytes_is_refused_by_its_size(self):
        """Nobody waits for a film to be parsed as a squad."""
        refusal = refused(b"a,b\n" * 12_500_000, "squad.csv")

        assert isinstance(refusal, FileIsTooLarge)
        assert "has 50 MB, and 10 MB are read" in str(refusal)

    def test_an_archive_bomb_is_refused_by_its_ratio(self):
        """One megabyte of blanks packs to one kilobyte."""
        refusal = refused(with_parts({"xl/media/image1.png": b" " * 1_100_000}))

        assert isinstance(refusal, WorkbookPartTooDense)
        assert "'xl/media/image1.png'" in str(refusal)

    def test_what_unpacks_to_too_much_in_all_is_refused(self):
        """Many parts, each below the ratio's threshold."""
        parts = {f"xl/media/image{i}.png": b" " * 990_000 for i in range(65)}

        assert isinstance(refused(with_parts(parts)), WorkbookUnpacksTooLarge)

    def test_too_many_parts_are_refused(self):
        """Each part is work."""
        parts = {f"xl/media/image{i}.png": b"" for i in range(guard.MOST_PARTS)}

        assert isinstance(refused(with_parts(parts)), WorkbookHoldsTooMuch)

    def test_more_markup_than_any_squad_has_is_refused(self):
        """A million rows unpack to only twice what a large squad does, and take a minute."""
        rows = "".join(f'<row r="{number}"/>' for number in range(1, 500_001))

        assert isinstance(refused(with_parts({SHEET: rows})), WorkbookHoldsTooMuch)

    def test_a_tag_of_a_hundred_attributes_is_refused(self):
        """A million attributes in one tag took a gigabyte."""
        tag = "<row " + " ".join(f"a{number}='>'" for number in range(100)) + "/>"

        assert isinstance(refused(with_parts({SHEET: tag})), WorkbookPartTooDense)

    def test_the_same_part_twice_is_refused(self):
        """Which of the two would be read?"""
        with pytest.warns(UserWarning, match="Duplicate name"):
            content = _with_second(SHEET)

        assert isinstance(refused(content), WorkbookIsDamaged)

    def test_unusual_packing_is_refused(self):
        """No spreadsheet program packs so; its ratio has other bounds."""
        assert isinstance(refused(packed(parts_of(SOUND), ZIP_BZIP2)), WorkbookIsDamaged)

    def test_a_locked_part_is_refused(self):
        """Packed with a password."""
        central = SOUND.rindex(b"PK\x01\x02")
        locked = bytearray(SOUND)
        locked[central + 8] |= 1

        assert isinstance(refused(bytes(locked)), FileIsLocked)


def _with_second(name: str) -> bytes:
    stream = BytesIO(SOUND)
    with ZipFile(stream, "a") as archive:
        archive.writestr(name, "<worksheet/>")
    return stream.getvalue()


BOMB = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><worksheet>&b;</worksheet>'


class TestXml:
    """ASVS 1.5.1: no entities, whatever disguise they come in."""

    @pytest.mark.parametrize(
        "xml",
        [
            BOMB,
            '<?xml version="1.0" encoding="UTF-8"?>\n' + BOMB,
            " " * 900_000 + BOMB,
            "\ufeff" + BOMB,
        ],
    )
    @pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "xl/media/image1.png"])
    def test_a_definition_of_entities_is_refused_in_any_part(self, xml: str, part: str):
        """A relationship may send the reader to a part of any name."""
        refusal = refused(with_parts({part: xml}))

        assert isinstance(refusal, WorkbookPartDefinesEntities)
        assert refusal.part == part

    @pytest.mark.parametrize(
        "xml",
        [
            BOMB.encode("utf-16"),
            BOMB.encode("utf-16-le"),
            BOMB.encode("utf-16-be"),
            b"<?xml version='1.0' encoding='cp037'?>" + BOMB.encode("cp037"),
            b'<?xml version="1.0" encoding = "UTF-7"?>' + BOMB.encode("utf-7"),
            b"<worksheet>\x00</worksheet>",
        ],
    )
    def test_another_encoding_than_utf_8_is_refused(self, xml: bytes):
        """A definition could hide in it."""
        assert isinstance(refused(with_parts({SHEET: xml})), WorkbookPartNotPlain)

    def test_pictures_and_printer_settings_may_hold_any_bytes(self):
        """They are never parsed, and workbooks are full of them."""
        parts = {
            "xl/media/image1.png": b"\x89PNG\r\n\x1a\n\x00<!DOCTYPE",
            "xl/printerSettings/printerSettings1.bin": "Hall printer".encode("utf-16-le"),
            "xl/media/image2.emf": b"\x01\x00\x00\x00",
        }

        assert check_upload(with_parts(parts), "squad.xlsx") is SheetFormat.XLSX


class TestAnyBytes:
    @given(st.binary(), st.sampled_from(["a.xlsx", "a.csv", ""]))
    @example(b"PK\x03\x04", "a.xlsx")
    @example(b"PK\x05\x06" + bytes(18), "a.xlsx")
    def test_any_bytes_are_named_or_refused(self, content: bytes, name: str):
        """No file whatever ends in a stack trace."""
        assert outcome(content, name).isprintable()

    @given(st.integers(0, len(SOUND) - 1), st.integers(0, 255))
    def test_any_byte_of_a_workbook_may_be_wrong(self, position: int, byte: int):
        """Whatever a broken transfer does, the answer is a sentence."""
        broken = SOUND[:position] + bytes([byte]) + SOUND[position + 1 :]

        assert outcome(broken, "a.xlsx").isprintable()
