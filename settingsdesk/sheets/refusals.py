"""Why an uploaded file is not read: what it is, and what to do about it.

Each kind of file that people do choose by mistake has its own class, so that the message can say
the one thing that helps. The file's name comes from outside and is always shown quoted and cut.
"""

from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.figures import quoted

AS_XLSX = "open it in a spreadsheet program and save it as .xlsx"


class FileRefused(SettingsDeskError):
    """Base of all refusals of a whole file: nothing of it was taken."""

    what = ""
    advice = AS_XLSX

    def __init__(self, file_name: str):
        super().__init__(file_name)
        self.file_name = file_name

    def __str__(self) -> str:
        return f"{quoted(self.file_name)} {self.what}: {self.advice}"


class FileIsEmpty(FileRefused):
    """Nothing in it."""

    what = "is empty"
    advice = "choose the file again, or save it again first"


class FileIsOldWorkbook(FileRefused):
    """A compound file, as spreadsheet programs wrote before 2007."""

    what = "is a document in an older format, such as .xls"


class FileIsLocked(FileRefused):
    """Encrypted, as a whole or in its parts."""

    what = "is protected by a password"
    advice = "remove the password in the spreadsheet program and save it again"


class FileIsMarkup(FileRefused):
    """A web page, as many programs export under the name of a workbook, or other XML."""

    what = "is a web page or another text in tags, not a workbook"


class FileIsPdf(FileRefused):
    """Made for printing."""

    what = "is a PDF, made for printing"
    advice = "choose the .xlsx or .csv file that it was printed from"


class FileIsPicture(FileRefused):
    """A photograph or a screenshot of a table."""

    what = "is a picture"
    advice = "choose a .xlsx or .csv file; tables in pictures are not read"


class FileIsPacked(FileRefused):
    """An archive that holds no workbook of its own."""

    what = "is a packed file without a workbook's parts"
    advice = "unpack it and choose the .xlsx or .csv file in it"


class FileIsOtherDocument(FileRefused):
    """An office document of a related format."""

    def __init__(self, file_name: str, kind: str):
        super().__init__(file_name)
        self.args = (file_name, kind)
        self.kind = kind
        self.what = f"is {kind}"


class FileIsNotText(FileRefused):
    """Bytes that are neither a workbook nor text."""

    what = "is neither a workbook nor text"
    advice = "choose a .xlsx or .csv file"


class FileIsMisnamed(FileRefused):
    """The ending of the name says something else than the content."""

    def __init__(self, file_name: str, found: str, endings: tuple[str, ...]):
        super().__init__(file_name)
        self.args = (file_name, found, endings)
        self.found, self.endings = found, endings
        self.what = f"is {found} by its content, and its name does not end in {endings[0]}"
        self.advice = "give it the name that fits, or choose another file"


class FileIsTooLarge(FileRefused):
    """More bytes than a squad can need."""

    advice = "keep one squad to a file, without pictures"

    def __init__(self, file_name: str, size_bytes: int, most_bytes: int):
        super().__init__(file_name)
        self.args = (file_name, size_bytes, most_bytes)
        self.size_bytes, self.most_bytes = size_bytes, most_bytes
        self.what = f"has {_megabytes(size_bytes)}, and {_megabytes(most_bytes)} are read"


class WorkbookIsDamaged(FileRefused):
    """It begins like a workbook and cannot be read as one."""

    what = "is damaged, or was not written by a spreadsheet program"


class WorkbookUnpacksTooLarge(FileIsTooLarge):
    """Small when packed, huge when unpacked."""

    def __init__(self, file_name: str, size_bytes: int, most_bytes: int):
        super().__init__(file_name, size_bytes, most_bytes)
        self.what = f"unpacks to {_megabytes(size_bytes)}, and {_megabytes(most_bytes)} are read"


class WorkbookHoldsTooMuch(FileRefused):
    """More parts, or more cells and formatting in them, than a squad can need."""

    advice = "copy the table alone into a new workbook and save that"

    def __init__(self, file_name: str, what_of: str, most: int):
        super().__init__(file_name)
        self.args = (file_name, what_of, most)
        self.what_of, self.most = what_of, most
        self.what = f"has more than {most:,} {what_of}"


class WorkbookPartRefused(FileRefused):
    """Base of the refusals for the sake of one part inside the packed workbook."""

    advice = "copy the table alone into a new workbook and save that"
    flaw = ""

    def __init__(self, file_name: str, part: str):
        super().__init__(file_name)
        self.args = (file_name, part)
        self.part = part
        self.what = f"has a part {quoted(part)} that {self.flaw}"


class WorkbookPartTooDense(WorkbookPartRefused):
    """Packed tighter than any table can be: an archive bomb."""

    flaw = "is packed more tightly than a table can be"


class WorkbookPartDefinesEntities(WorkbookPartRefused):
    """A document type definition or an entity, which can expand without end."""

    flaw = "defines its own entities, which no spreadsheet program writes"


class WorkbookPartNotPlain(WorkbookPartRefused):
    """XML in another encoding than UTF-8, in which a definition could hide."""

    flaw = "is not written in UTF-8"


class WorkbookHasNoSheet(FileRefused):
    """No sheet in it, or none that is shown."""

    what = "has no sheet that is shown"
    advice = "show the sheet with the table and save it again"


class TableRefused(FileRefused):
    """Base of the refusals at one place of a table; ``place`` names it as the reader sees it."""

    flaw = ""

    def __init__(self, file_name: str, place: str, *facts: object):
        super().__init__(file_name)
        self.args = (file_name, place, *facts)
        self.place = place

    def __str__(self) -> str:
        return f"{quoted(self.file_name)}, {self.place}: {self.flaw}; {self.advice}"


class CellNotReadable(TableRefused):
    """What the file holds for a cell is not what it says it is."""

    flaw = "the cell cannot be read"
    advice = "clear it, type its content again and save the file"


class CellTextTooLong(TableRefused):
    """More text in one cell than a cell can hold."""

    flaw = "the cell holds more text than can be read"
    advice = "shorten it and save the file"


class RowsOutOfOrder(TableRefused):
    """Rows or cells do not follow each other, or one comes twice."""

    flaw = "what follows is out of order in the file"


class RowFarBelow(TableRefused):
    """Something stands far below the table, where nobody sees it."""

    flaw = "something stands here, far below the table"
    advice = "delete it, or move it up to the other rows"


class TableTooLarge(TableRefused):
    """More rows or columns than are read."""

    advice = "delete what does not belong to the table, or keep one squad to a file"

    def __init__(self, file_name: str, place: str, most: str):
        super().__init__(file_name, place, most)
        self.most = most
        self.flaw = f"a table of at most {most} is read"


class TextNotReadable(TableRefused):
    """Bytes that are no text in the encoding that the file seems to have."""

    flaw = "a character cannot be read"
    advice = "save it again as CSV in UTF-8, or as .xlsx"


class QuoteNotClosed(TableRefused):
    """Quotation marks that do not pair up, so that columns would be shifted."""

    flaw = "quotation marks are not closed, or stand within a text"
    advice = "double those within a text, or save the table as .xlsx"


class SeparatorUnclear(FileRefused):
    """Two separators divide the first rows equally well."""

    what = "may be separated by two different signs"
    advice = "save it again as CSV with semicolons, or as .xlsx"


class XmlGuardMissing(SettingsDeskError):
    """The reading of XML is not hardened in this installation."""

    sentence = (
        "Workbooks are not read here, because the package defusedxml is missing or switched "
        "off by OPENPYXL_DEFUSEDXML: install it and start again; .csv files are read"
    )


def _megabytes(size_bytes: int) -> str:
    return f"{size_bytes / 1_000_000:.1f}".removesuffix(".0") + " MB"
