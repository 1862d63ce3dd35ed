"""The one way from an uploaded file to a table."""

from settingsdesk.sheets.csv_reading import read_csv
from settingsdesk.sheets.guard import SheetFormat, check_upload
from settingsdesk.sheets.table import Table
from settingsdesk.sheets.xlsx_reading import read_xlsx


def read_table(content: bytes, file_name: str, sheet: str = "") -> Table:
    """The file's table; of a workbook the sheet of that name, or the first one that is shown.

    Raises:
        FileRefused: one of its subclasses: what the file is, or where in it reading ended, and
            what to do.
    """
    if check_upload(content, file_name) is SheetFormat.XLSX:
        return read_xlsx(content, file_name, sheet)
    return read_csv(content, file_name)
