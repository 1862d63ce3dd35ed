"""Twenty lists in fifteen languages that nobody tidied up, each with what a person reads of it."""

from collections.abc import Mapping
from dataclasses import dataclass

import pytest
from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

from settingsdesk.sheets.lists.preview import ListPreview, NoteKind
from settingsdesk.sheets.lists.reading import read_lists
from tests.sheets.books import book, saved

MODELS = {
    "Hallenbarren Nord": "uneven_bars",
    "Reisebarren": "uneven_bars",
    "Hall beam": "balance_beam",
}
OF_ONE_CELL = (NoteKind.STRUCK, NoteKind.COMMENT, NoteKind.COLOUR)
LOW, HIGH, SPREAD = "low_rail", "high_rail", "spread"
Value = tuple[str, str, int | str]


@dataclass(frozen=True)
class Read:
    """What a person reads of a list: values, values that wait, and where somebody is asked."""

    content: bytes | str
    taken: tuple[Value, ...] = ()
    waiting: tuple[Value, ...] = ()
    asked: tuple[tuple[int, str], ...] = ()
    persons: int | None = None

    def found(self, answers: Mapping[str, str]) -> ListPreview:
        """What is read."""
        if isinstance(self.content, bytes):
            return read_lists(self.content, "list.xlsx", MODELS, answers=answers)
        return read_lists(self.content.encode(), "list.csv", MODELS, answers=answers)


def rails(
    name: str, low: int | str, high: int | str, spread: int | str | None = None
) -> tuple[Value, ...]:
    """What an athlete wants of the uneven bars."""
    both: tuple[Value, ...] = ((name, LOW, low), (name, HIGH, high))
    return both if spread is None else (*both, (name, SPREAD, spread))


def polish_comments() -> bytes:
    """A comment, a struck cell, a red cell, a hidden row and a hidden sheet of last year."""
    workbook = book(
        ["Nazwisko", "Imię", "Żerdź niska (cm)", "Żerdź wysoka (cm)"],
        ["Brzozolas", "Ewa", 165, 245],
        ["Dębiak", "Iga", 160, 240],
        ["Lipiec", "Ola", 162, 242],
        ["Kruk", "Pola", 166, 246],
        ["Sowa", "Zoja", 168, 248],
    )
    sheet = workbook["Squad"]
    sheet["C2"].comment = Comment("nieaktualne, zapytać", "x")
    sheet["D3"].font = Font(strike=True)
    sheet["C4"].fill = PatternFill("solid", fgColor="FFFF0000")
    sheet.row_dimensions[5].hidden = True
    old = workbook.create_sheet("2019")
    old.append(["Nazwisko", "Imię", "Żerdź niska (cm)"])
    old.append(["Sowa", "Zoja", 150])
    old.sheet_state = "hidden"
    return saved(workbook)


def czech_three_header_rows() -> bytes:
    """Merged downwards and across, and the names below a cell that says nothing of names."""
    workbook = book(
        ["Závodnice", "Bradla o nestejné výši žerdí", None, None],
        [None, "dolní", "horní", "šířka"],
        [None, "cm", "cm", "cm"],
        ["Malá, Jana", 165, 245, 170],
        ["Bílá, Iva", 160, 240, 165],
        ["Celkem: 2", None, None, None],
    )
    workbook["Squad"].merge_cells("A1:A3")
    workbook["Squad"].merge_cells("B1:D1")
    return saved(workbook)


def german_formats() -> bytes:
    """Units in number formats, a day that was a pair of holes, a percentage."""
    workbook = book(
        ["Name", "Vorname", "Holm unten", "Holm oben"],
        ["Ahorn", "Lea", 1.65, 2450],
        ["Buche", "Mia", 1.6, 2400],
        ["Linde", "Eva", 7, 0.5],
    )
    sheet = workbook["Squad"]
    for row in (2, 3):
        sheet[f"C{row}"].number_format = '0.00" m"'
        sheet[f"D{row}"].number_format = '0" mm"'
    sheet["C4"].number_format = '"Loch "0'
    sheet["D4"].number_format = "0%"
    return saved(workbook)


def italian_old_sheet() -> bytes:
    """A sheet whose name says that it is old, and one with nothing but a legend."""
    workbook = book(
        ["Cognome", "Nome", "Staggio basso (cm)", "Staggio alto (cm)"],
        ["Alba", "Lia", 165, 245],
        title="Misure",
    )
    old = workbook.create_sheet("vecchie misure")
    for row in (["Cognome", "Nome", "Staggio basso (cm)"], ["Alba", "Lia", 150]):
        old.append(row)
    workbook.create_sheet("Legenda").append(["Tutte le altezze dal tappeto"])
    return saved(workbook)


def striped() -> bytes:
    """Every other row grey, as a program stripes them: that says nothing."""
    workbook = Workbook()
    sheet = workbook.active
    sheet.append(["Name", "Low rail (cm)", "High rail (cm)"])
    for at, name in enumerate(("Marsh, Ida", "Fenn, Una", "Reed, Eva", "Kerr, Zoe"), start=2):
        sheet.append([name, 165, 245])
        for cell in sheet[at] if at % 2 else ():
            cell.fill = PatternFill("solid", fgColor="FFDDDDDD")
    return saved(workbook)


LISTS = {
    "English: a footnote about the mat": Read(
        "Name;Low rail (cm);High rail (cm)\nIda Marsh;146;226\nUna Fenn;150;230\n\n"
        "Heights above the mat\n",
        waiting=(*rails("Ida Marsh", 1460, 2260), *rails("Una Fenn", 1500, 2300)),
        asked=((5, "A"),),
        persons=2,
    ),
    "German: models under other words": Read(
        "Name;Vorname;Gerät;Holm unten (cm);Holm oben (cm)\nAhorn;Lea;HALLENBARREN  nord;165;245\n"
        "Buche;Mia;Wanderbarren Ost;160;240\nLinde;Eva;Stufenbarren;162;242\n",
        taken=(*rails("Ahorn, Lea", 1650, 2450), *rails("Linde, Eva", 1620, 2420)),
        waiting=rails("Buche, Mia", 1600, 2400),
        asked=((3, "C"),),
    ),
    "French: a column of notes": Read(
        "Nom;Prénom;Barre basse (cm);Barre haute (cm);Remarques\n"
        "Aubier;Lise;165;245;\nBoulot;Eva;160;240;au-dessus du tapis\n"
        "Cormier;Zoé;162;242;un trou plus haut en compétition\n",
        taken=rails("Aubier, Lise", 1650, 2450),
        waiting=(*rails("Boulot, Eva", 1600, 2400), *rails("Cormier, Zoé", 1620, 2420)),
        asked=((3, "E"), (4, "E")),
    ),
    "Spanish: decimal commas without quotes": Read(
        "Nombre,Banda baja (cm),Banda alta (cm),Separación (cm)\n"
        "Inés Pardo,166,5,246,5,158\nSol Núñez,160,240,5,165,5\n",
        asked=((2, "A"),),
        persons=0,
    ),
    "Portuguese: no unit in a whole column": Read(
        "Apelido;Nome próprio;Barra baixa;Barra alta\n"
        "Areosa;Inês;1,65;2,45\nCascata;Rita;1,6;2,4\n",
        taken=(*rails("Areosa, Inês", 1650, 2450), *rails("Cascata, Rita", 1600, 2400)),
    ),
    "Dutch: marks or centimetres": Read(
        "Achternaam;Voornaam;Lage legger;Hoge legger\n"
        "Beuk;Lotte;7;12\nEik;Sanne;6;11\nIep;Noor;8;13\n",
        asked=((1, "C"), (1, "D")),
        persons=3,
    ),
    "Polish: what hangs on cells": Read(
        polish_comments(),
        taken=rails("Sowa, Zoja", 1680, 2480),
        waiting=(
            *rails("Brzozolas, Ewa", 1650, 2450),
            ("Dębiak, Iga", LOW, 1600),
            *rails("Lipiec, Ola", 1620, 2420),
        ),
        asked=((2, "C"), (3, "D"), (4, "C"), (5, "A"), (1, "A")),
        persons=5,
    ),
    "Czech: three rows of merged headers": Read(
        czech_three_header_rows(),
        taken=(*rails("Malá, Jana", 1650, 2450, 1700), *rails("Bílá, Iva", 1600, 2400, 1650)),
        asked=((6, "A"),),
        persons=2,
    ),
    "German: units in number formats": Read(
        german_formats(),
        taken=(
            *rails("Ahorn, Lea", 1650, 2450),
            *rails("Buche, Mia", 1600, 2400),
            ("Linde, Eva", LOW, "7"),
        ),
        asked=((4, "D"),),
    ),
    "Italian: an old sheet and a legend": Read(
        italian_old_sheet(),
        waiting=rails("Alba, Lia", 1650, 2450),
        asked=((1, "A"), (1, "A"), (1, "A")),
        persons=1,
    ),
    "Russian: names with and without ё, turned round": Read(
        "Фамилия;Имя;Нижняя жердь (см);Верхняя жердь (см)\nБерёзова;Оля;165;245\n"
        "Березова;Оля;160;240\nДубова;Ира;162;242\nИра;Дубова;163;243\n",
        waiting=(
            *rails("Берёзова, Оля", 1650, 2450),
            *rails("Березова, Оля", 1600, 2400),
            *rails("Дубова, Ира", 1620, 2420),
            *rails("Ира, Дубова", 1630, 2430),
        ),
        asked=((3, "A"), (5, "A")),
    ),
    "Japanese: an apparatus nobody knows, a note": Read(
        "選手,器具,低棒(cm),高棒(cm)\n山田花,段違い平行棒,165,245\n青木雪,謎の器具,160,240\n"
        "注：古い測定,,,\n",
        waiting=(*rails("山田花", 1650, 2450), *rails("青木雪", 1600, 2400)),
        asked=((3, "B"), (4, "A")),
        persons=2,
    ),
    "Arabic: above the mat, below the table": Read(
        "الاسم;العارضة السفلى (سم);العارضة العليا (سم)\nليلى نور;١٤٥;٢٢٥\n"
        "الارتفاع من فوق البساط;;\n",
        waiting=rails("ليلى نور", 1450, 2250),
        asked=((3, "A"),),
        persons=1,
    ),
    "Turkish: one number for two": Read(
        "Soyadı;Adı;Göğüs no;Alt bar (cm);Üst bar (cm)\nÇınar;Ece;7;165;245\nKavak;Nil;7;160;240\n"
        "Söğüt;Ada;8;162;242\n",
        taken=rails("Söğüt, Ada", 1620, 2420),
        waiting=(*rails("Çınar, Ece", 1650, 2450), *rails("Kavak, Nil", 1600, 2400)),
        asked=((3, "A"),),
    ),
    "Hungarian: totals and counts": Read(
        "Név;Alsó karfa (cm);Felső karfa (cm)\nTölgy Anna;165;245\nÖsszesen;1;\nÁtlag;165;245\n"
        "Versenyző: 1;;\n",
        taken=rails("Tölgy Anna", 1650, 2450),
        asked=((3, "A"), (4, "A"), (5, "A")),
        persons=1,
    ),
    "French: apostrophes and hyphens": Read(
        "Nom;Prénom;Barre basse (cm);Barre haute (cm)\nD’Orme;Anne-Lise;165;\n"
        "D'Orme;Anne\N{NON-BREAKING HYPHEN}Lise;;245\n",
        taken=rails("D’Orme, Anne-Lise", 1650, 2450),
        persons=1,
    ),
    "Polish: signs that were lost": Read(
        "Nazwisko;Imię;Żerdź niska (cm)\nD?biak;Iga;160\nLipiec;Ola;162\n",
        taken=(("Lipiec, Ola", LOW, 1620),),
        asked=((2, "A"),),
        persons=1,
    ),
    "English: signs that nobody sees": Read(
        'Name;Low rail (cm)\n"Ma\N{ZERO WIDTH SPACE}rsh, I\x07da";165\n"Fenn, Una";160\n',
        taken=(("Marsh, Ida", LOW, 1650), ("Fenn, Una", LOW, 1600)),
        persons=2,
    ),
    "English: striped rows": Read(
        striped(),
        taken=tuple(
            value
            for name in ("Marsh, Ida", "Fenn, Una", "Reed, Eva", "Kerr, Zoe")
            for value in rails(name, 1650, 2450)
        ),
    ),
    "Vietnamese: a title that doubts": Read(
        "Số đo tạm thời, cần kiểm tra;;\nHọ tên;Xà thấp (cm);Xà cao (cm)\nLan Mai;165;245\n",
        waiting=rails("Lan, Mai", 1650, 2450),
        asked=((1, "A"),),
        persons=1,
    ),
}


@pytest.mark.parametrize("name", LISTS)
class TestTwentyLists:
    def test_are_read_as_a_person_reads_them(self, name: str) -> None:
        """What is sure is taken; whoever a doubt bears on waits; each doubt is one line."""
        read = LISTS[name]
        found = read.found({})

        assert [(one.athlete, one.axis, one.value_mm or one.mark) for one in found.accepted] == [
            *read.taken
        ]
        assert [(one.athlete, one.axis, one.value_mm or one.mark) for one in found.waiting] == [
            *read.waiting
        ]
        assert sorted((one.row, one.column) for one in found.queries) == (sorted(read.asked))
        assert read.persons in (None, len(found.persons))

    def test_come_whole_once_every_note_is_read(self, name: str) -> None:
        """Nobody waits for anything that has been answered."""
        read = LISTS[name]
        notes = read.found({}).notes
        keys = {note.key: "leave_out" if note.kind is NoteKind.SHEET else "read" for note in notes}
        questions = {
            one.key: one.likely or one.choices[0].value for one in read.found({}).column_questions
        }
        doubts = {query.key: "two" for query in read.found({}).queries if query.key[:4] == "who:"}
        found = read.found(keys | questions | doubts)

        assert [one for one in found.persons if one.waits] == []
        assert found.waiting == ()
        assert {(one.athlete, one.axis) for one in found.accepted} >= {
            (athlete, axis) for athlete, axis, _ in (*read.taken, *read.waiting)
        }

    def test_give_nothing_of_what_a_note_bears_on_once_that_is_left_out(self, name: str) -> None:
        """Whoever answers so types those settings anew."""
        read = LISTS[name]
        before = read.found({})
        found = read.found({note.key: "leave_out" for note in before.notes})

        held = {place for note in before.notes if note.is_open for place in note.persons}
        gone = {before.persons[place].shown for place in held}
        is_of_one_cell = any(note.kind in OF_ONE_CELL for note in before.notes)
        assert is_of_one_cell or not {one.athlete for one in found.accepted} & gone
