"""Entries of eight invented clubs, each list made as another coach makes it, and what it says.

    python tests/sheets/meet_files.py    writes the files of tests/data/meet anew

Clubs and people are invented: given and family names were put together by hand from lists of
either, and whoever bears such a name is not meant. What is expected is written down here beside
each cell as it is written, and never taken from what the program reads.
"""

import csv
import io
import json
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

FOLDER = Path(__file__).parents[1] / "data" / "meet"

PEOPLE = {
    "Turnverein Lärchental": "Wiebke Ahrensfurt, Gesa Brandlohe, Ilka Dornbusch, Malin Eschweg,"
    " Tilda Fuchsrain, Jorid Grünspan, Levke Heidkamp, Runa Iltisberg, Swantje Jungholt,"
    " Merle Kranichsee, Fenja Lorbach, Birte Moorweg",
    "Gymnastique de la Combe-Claire": "Éloïse Aubrelin, Maëlle Bruyandet, Zélie Corvaisier,"
    " Noémie Dargouges, Inès Épinassous, Flavie Fontarbel, Lilou Grandserre, Océane Hautecombe,"
    " Solène Jaunegrain, Coralie Lafontelle, Anaïs Montrazé, Thaïs Noirval",
    "Ginnastica Valdombra": "Ginevra Acquaspina, Ludovica Bellorizzo, Ambra Castelvago,"
    " Fiamma Dolcerocca, Nives Erbaspiga, Allegra Fontepriva, Mirta Gattorosso, Selene Lungariva,"
    " Dafne Montescuro, Viola Nevegrande, Asia Ombraluna, Carlotta Pietramora",
    "Club Sierra Umbría": "Inés Alcornoque, Ximena Brezales, Nuria Cascajares, Itziar Doblas Río,"
    " Rocío Encinaleda, Maite Fresnedal, Leire Guijarralba, Ainhoa Hontanillas, Paloma Jarales,"
    " Candela Lagunilla, Noa Majadahonda Sur, Triana Nogaleda",
    "Klub Jasny Bór": "Łucja Brzozolas, Jagoda Ćmielorz, Kalina Dąbrówczyk, Róża Głogolas,"
    " Bogna Iwnicka-Bór, Malwina Jeżolas, Żaneta Kłosowianka, Lilianna Łąkotka, Mira Mgłowska-Las,"
    " Hania Niebieszcz, Pola Oleśnicz, Tosia Piaskolas",
    "Ginástica Ribeira Alta": "Inês Areosa Funda, Leonor Bacelinho, Matilde Cascatão,"
    " Carolina Dunasverdes, Beatriz Espinhosela, Constança Fragadela, Francisca Gaivotal,"
    " Benedita Horizonte, Mafalda Jardinão, Clara Lagoasca, Íris Marinhal, Alice Nortada",
    "Mizuhara Taisō": "Rei Hanamori, Sora Inaba, Yui Kasumigawa, Mio Kirinami, Kaho Minase,"
    " Aoi Nagisawa, Rin Otohara, Nao Sazanami, Emi Shirogane, Yuna Tsukimori, Mei Uzushio,"
    " Kana Yanagihara",
    "Nadi al-Wadi": "Layla Barqouq, Noor Daliya, Salma Firdaws, Rima Ghazalan, Hala Jabalain,"
    " Dana Khuzama, Yara Lawzan, Mona Marjan, Sama Nakhlawi, Zeina Rimalun, Huda Sahlan,"
    " Amal Turunj",
}
CLUBS = tuple(PEOPLE)


@dataclass(frozen=True)
class Wish:
    """What one athlete wants, in millimetres; a beam for those who go on it."""

    family: str
    given: str
    low_mm: int
    high_mm: int
    spread_mm: int
    beam_mm: int

    @property
    def athlete(self) -> str:
        return f"{self.family}, {self.given}"


def wishes(club: str) -> list[Wish]:
    """The club's athletes, each with other lengths, the same every time."""
    number = CLUBS.index(club)
    found = []
    for place, name in enumerate(PEOPLE[club].split(", ")):
        given, _, family = name.strip().partition(" ")
        step = (number * 7 + place * 5) % 17
        found.append(
            Wish(
                unicodedata.normalize("NFC", family),
                unicodedata.normalize("NFC", given),
                1550 + 10 * step,
                2350 + 10 * ((step * 3 + number) % 19),
                1560 + 5 * ((step * 7 + place) % 23),
                1000 + 50 * (place % 6),
            )
        )
    return found


@dataclass
class Made:
    """One file: its content, and what a person reads in it."""

    name: str
    club: str
    content: bytes = b""
    accepted: list[dict[str, object]] = field(default_factory=list)
    queries: list[dict[str, object]] = field(default_factory=list)

    def cell(
        self, athlete: str, axis: str, mm: int, row: int, column: int, doubt: bool = False
    ) -> None:
        """One cell with a value, or one that has to be asked about."""
        at = {"row": row, "column": get_column_letter(column)}
        if doubt:
            self.queries.append(at)
        else:
            self.accepted.append({"athlete": athlete, "axis": axis, "value_mm": mm, **at})


def cm(mm: int, comma: str = ",") -> str:
    return f"{mm // 10}" if mm % 10 == 0 else f"{mm / 10:.1f}".replace(".", comma)


def text_of(rows: list[list[str]], separator: str) -> str:
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator, lineterminator="\r\n").writerows(rows)
    return stream.getvalue()


def german(settled: bool) -> Made:
    """A workbook: title, two header rows with merged cells, an average below."""
    made = Made("laerchental.xlsx", CLUBS[0])
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Meldung"
    sheet.append(["Meldung zum Laternenpokal – alle Angaben in cm, Höhen ab Boden, Oberkante Holm"])
    sheet.append([])
    sheet.append(["Name", "Vorname", "Stufenbarren", None, None])
    sheet.append([None, None, "Holm unten", "Holm oben", "Holmweite"])
    for merged in ("A3:A4", "B3:B4", "C3:E3"):
        sheet.merge_cells(merged)
    for row, one in enumerate(wishes(made.club), start=5):
        low, high = one.low_mm / 10, one.high_mm / 10
        doubts = (False, False, False)
        if not settled and row == 7:
            low, high, doubts = high, low, (True, True, False)  # rails swapped
        if not settled and row == 9:
            high, doubts = one.high_mm, (False, True, False)  # ten times too large
        sheet.append([one.family, one.given, low, high, one.spread_mm / 10])
        made.cell(one.athlete, "low_rail", one.low_mm, row, 3, doubts[0])
        made.cell(one.athlete, "high_rail", one.high_mm, row, 4, doubts[1])
        made.cell(one.athlete, "spread", one.spread_mm, row, 5)
    sheet.append(["Mittelwert", None, 163.5, 244.5, 166])
    made.queries.append({"row": 17, "column": "A"})
    stream = io.BytesIO()
    book.save(stream)
    made.content = stream.getvalue()
    return made


def english_inches(settled: bool) -> Made:
    """The same club's other coach: the beam, in inches and fractions."""
    made = Made("laerchental-beam.csv", CLUBS[0])
    rows = [["Last name", "First name", "Beam height (in)"]]
    eighths = {1000: '39 3/8"', 1050: '41 3/8"', 1100: '43 1/4"', 1150: '45 1/4"'}
    read_mm = {1000: 1000, 1050: 1051, 1100: 1099, 1150: 1149}
    for one in wishes(made.club):
        if one.beam_mm in eighths:
            rows.append([one.family, one.given, eighths[one.beam_mm]])
            made.cell(one.athlete, "beam", read_mm[one.beam_mm], len(rows), 3)
    made.content = text_of(rows, ",").encode()
    return made


def french(settled: bool) -> Made:
    """Semicolons, decimal commas and Windows' code page."""
    made = Made("combe-claire.csv", CLUBS[1])
    rows = [["Nom", "Prénom", "Barre inférieure (cm)", "Barre supérieure (cm)", "Écartement (cm)"]]
    for place, one in enumerate(wishes(made.club)):
        row = place + 2
        cells = [cm(one.low_mm), cm(one.high_mm), cm(one.spread_mm)]
        doubts = [False, False, False]
        if not settled and place == 2:
            cells[0], doubts[0] = "160-165", True
        if not settled and place == 4:
            cells[1], doubts[1] = "?", True
        if not settled and place == 6:
            cells[2], doubts[2] = "idem", True
        rows.append([one.family, one.given, *cells])
        for number, axis in enumerate(("low_rail", "high_rail", "spread")):
            mm = (one.low_mm, one.high_mm, one.spread_mm)[number]
            made.cell(one.athlete, axis, mm, row, number + 3, doubts[number])
    made.content = text_of(rows, ";").encode("cp1252")
    return made


def italian(settled: bool) -> Made:
    """The athletes stand in columns, under a title."""
    made = Made("valdombra.csv", CLUBS[2])
    people = wishes(made.club)
    rows = [
        ["Coppa delle lanterne: tutte le misure in cm"],
        [],
        ["Cognome", *(one.family for one in people)],
        ["Nome", *(one.given for one in people)],
        ["Staggio basso", *(cm(one.low_mm) for one in people)],
        ["Staggio alto", *(cm(one.high_mm) for one in people)],
        ["Larghezza", *(cm(one.spread_mm) for one in people)],
    ]
    if not settled:
        rows[6][3] = f"uguale a {people[0].given}"
    for place, one in enumerate(people):
        column = place + 2
        made.cell(one.athlete, "low_rail", one.low_mm, 5, column)
        made.cell(one.athlete, "high_rail", one.high_mm, 6, column)
        made.cell(one.athlete, "spread", one.spread_mm, 7, column, not settled and column == 4)
    made.content = text_of(rows, ";").encode()
    return made


def spanish(settled: bool) -> Made:
    """One value in each row, the unit beside it, tabs and UTF-16."""
    made = Made("sierra-umbria.tsv", CLUBS[3])
    rows = [["Apellido", "Nombre", "Aparato", "Ajuste", "Valor", "Unidad"]]
    for one in wishes(made.club):
        for axis, words, text, unit in (
            ("low_rail", "Banda baja", cm(one.low_mm), "cm"),
            ("high_rail", "Banda alta", f"{one.high_mm}", "mm"),
            ("spread", "Separación", cm(one.spread_mm), "cm"),
        ):
            mm = {"low_rail": one.low_mm, "high_rail": one.high_mm, "spread": one.spread_mm}[axis]
            doubt = not settled and len(rows) == 10
            text = "por confirmar" if doubt else text
            rows.append([one.family, one.given, "Barras asimétricas", words, text, unit])
            made.cell(one.athlete, axis, mm, len(rows), 5, doubt)
    made.content = text_of(rows, "\t").encode("utf-16")
    return made


def polish(settled: bool) -> Made:
    """Metres, and Windows' Central European code page."""
    made = Made("jasny-bor.csv", CLUBS[4])
    rows = [["Nazwisko", "Imię", "Żerdź niska [m]", "Żerdź wysoka [m]", "Rozstaw [m]"]]
    for place, one in enumerate(wishes(made.club)):
        cells = [
            f"{mm / 1000:.3f}".rstrip("0").replace(".", ",") for mm in (one.low_mm, one.high_mm)
        ]
        spread = f"{cm(one.spread_mm)} cm"
        doubt = not settled and place == 5
        cells[1] = "24,5" if doubt else cells[1]
        rows.append([one.family, one.given, *cells, spread])
        made.cell(one.athlete, "low_rail", one.low_mm, place + 2, 3)
        made.cell(one.athlete, "high_rail", one.high_mm, place + 2, 4, doubt)
        made.cell(one.athlete, "spread", one.spread_mm, place + 2, 5)
    made.content = text_of(rows, ";").encode("cp1250")
    return made


def portuguese(settled: bool) -> Made:
    """Title lines, repeated headers and a total, on a sheet named after the apparatus."""
    made = Made("ribeira-alta.xlsx", CLUBS[5])
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Paralelas assimétricas"
    head = ["Apelido", "Nome próprio", "Barra baixa (cm)", "Barra alta (cm)", "Abertura (cm)"]
    sheet.append(["Ficha de inscrição"])
    sheet.append(head)
    row = 2
    for place, one in enumerate(wishes(made.club)):
        if place == 6:
            row += 1
            sheet.append(head)
        row += 1
        doubt = not settled and place == 3
        low: object = "=1+1" if doubt else one.low_mm / 10
        sheet.append([one.family, one.given, low, one.high_mm / 10, one.spread_mm / 10])
        if doubt:
            sheet.cell(row, 3).data_type = "s"
        made.cell(one.athlete, "low_rail", one.low_mm, row, 3, doubt)
        made.cell(one.athlete, "high_rail", one.high_mm, row, 4)
        made.cell(one.athlete, "spread", one.spread_mm, row, 5)
    sheet.append(["Total", None, 12])
    made.queries.append({"row": row + 1, "column": "A"})
    stream = io.BytesIO()
    book.save(stream)
    made.content = stream.getvalue()
    return made


def japanese(settled: bool) -> Made:
    """Digits of full width, and the code page of Japan."""
    made = Made("mizuhara.csv", CLUBS[6])
    wide = str.maketrans("0123456789.", "０１２３４５６７８９．")
    rows = [["姓", "名", "低棒の高さ(cm)", "高棒の高さ(cm)", "幅(cm)"]]
    for place, one in enumerate(wishes(made.club)):
        cells = [cm(mm, ".").translate(wide) for mm in (one.low_mm, one.high_mm, one.spread_mm)]
        doubt = not settled and place == 8
        cells[2] = "未定" if doubt else cells[2]
        rows.append([one.family, one.given, *cells])
        made.cell(one.athlete, "low_rail", one.low_mm, place + 2, 3)
        made.cell(one.athlete, "high_rail", one.high_mm, place + 2, 4)
        made.cell(one.athlete, "spread", one.spread_mm, place + 2, 5, doubt)
    made.content = text_of(rows, ",").encode("cp932")
    return made


def vietnamese(settled: bool) -> Made:
    """The same club's beam, with decomposed letters in its headers."""
    made = Made("mizuhara-beam.csv", CLUBS[6])
    rows = [["Họ", "Tên", "Chiều cao cầu thăng bằng (cm)"]]
    for one in wishes(made.club)[:6]:
        rows.append([one.family, one.given, cm(one.beam_mm)])
        made.cell(one.athlete, "beam", one.beam_mm, len(rows), 3)
    made.content = unicodedata.normalize("NFD", text_of(rows, ";")).encode()
    return made


def arabic(settled: bool) -> Made:
    """Arabic headers and Arabic-Indic digits."""
    made = Made("al-wadi.csv", CLUBS[7])
    indic = str.maketrans("0123456789", "٠١٢٣٤٥٦٧٨٩")
    head = [
        "ارتفاع العارضة السفلى (سم)",
        "ارتفاع العارضة العليا (سم)",
        "المسافة بين العارضتين (سم)",
    ]
    rows = [["اسم العائلة", "الاسم الأول", *head]]
    for place, one in enumerate(wishes(made.club)):
        lengths = (one.low_mm, one.high_mm, one.spread_mm)
        cells = [cm(mm, ".").translate(indic) for mm in lengths]
        doubt = not settled and place == 1
        cells[0] = f"{cells[0]}؟" if doubt else cells[0]
        rows.append([one.family, one.given, *cells])
        made.cell(one.athlete, "low_rail", one.low_mm, place + 2, 3, doubt)
        made.cell(one.athlete, "high_rail", one.high_mm, place + 2, 4)
        made.cell(one.athlete, "spread", one.spread_mm, place + 2, 5)
    made.content = text_of(rows, ";").encode()
    return made


MAKERS: tuple[Callable[[bool], Made], ...] = (
    german,
    english_inches,
    french,
    italian,
    spanish,
    polish,
    portuguese,
    japanese,
    vietnamese,
    arabic,
)


def write() -> None:
    """Write every file as it first came, and beside it what is expected of it."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for make in MAKERS:
        made = make(False)
        (FOLDER / made.name).write_bytes(made.content)
        expected = {"club": made.club, "accepted": made.accepted, "queries": made.queries}
        text = json.dumps(expected, ensure_ascii=False, indent=0)
        (FOLDER / f"{made.name}.expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
