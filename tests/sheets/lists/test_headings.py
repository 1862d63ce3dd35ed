"""What stands over columns, over rows and beside a table, in lists of fourteen languages.

Each list with what a person reads of it: who stands there with which group or model, what is taken
of whom, who waits, and where somebody is asked.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import pytest
from openpyxl.comments import Comment
from openpyxl.styles import Font

from settingsdesk.sheets.lists.preview import ListPreview, NoteKind
from settingsdesk.sheets.lists.reading import read_lists
from tests.sheets.books import book, saved

MODELS = {
    "Hallenbarren Nord": "uneven_bars",
    "Reisebarren": "uneven_bars",
    "Hall beam": "balance_beam",
}
LOW, HIGH, SPREAD, BEAM = "low_rail", "high_rail", "spread", "beam"


@dataclass(frozen=True)
class Read:
    """What a person reads of a list.

    ``taken`` and ``waiting`` are the values of each athlete in the order of the file, ``asked`` the
    places at which somebody is asked, ``persons`` how many athletes there are, where some have no
    value.
    """

    content: bytes | str
    taken: Mapping[str, tuple[int | str, ...]] = field(default_factory=dict)
    waiting: Mapping[str, tuple[int | str, ...]] = field(default_factory=dict)
    asked: str = ""
    groups: tuple[str, ...] = ()
    persons: int | None = None

    def found(self, answers: Mapping[str, str] | None = None) -> ListPreview:
        """What is read."""
        is_text = isinstance(self.content, str)
        content = self.content.encode() if isinstance(self.content, str) else self.content
        name = "list.csv" if is_text else "list.xlsx"
        return read_lists(content, name, MODELS, answers=answers)


def merged(areas: str, *rows: list[object]) -> bytes:
    """A workbook of one sheet with merged cells."""
    workbook = book(*rows)
    for area in areas.split():
        workbook["Squad"].merge_cells(area)
    return saved(workbook)


def dutch_marks() -> bytes:
    """A struck row, a comment of the header, and a hidden column of old values."""
    workbook = book(
        ["Achternaam", "Voornaam", "Lage legger (cm)", "Hoge legger (cm)", "Oud laag (cm)"],
        ["Beuk", "Lotte", 165, 245, 160],
        ["Eik", "Sanne", 160, 240, 155],
    )
    sheet = workbook["Squad"]
    for column in "ABCDE":
        sheet[f"{column}3"].font = Font(strike=True)
    sheet["C1"].comment = Comment("gemeten vanaf de mat", "x")
    sheet.column_dimensions["E"].hidden = True
    return saved(workbook)


LISTS = {
    "English: a footnote of the mat in other words": Read(
        "Gymnast;Low bar (cm);High bar (cm)\nMarsh, Ida;146;226\nNumber of gymnasts: 1;;\n\n"
        "* measured from the top of the landing mat\n",
        waiting={"Marsh, Ida": (1460, 2260)},
        asked="A3 A5",
    ),
    "English: a column says from where": Read(
        "Athlete,Low (cm),High (cm),Measured from\nIda Marsh,165,245,floor\nUna Fenn,146,226,mat\n",
        waiting={"Ida Marsh": (1650, 2450), "Una Fenn": (1460, 2260)},
        asked="D1 D2 D3",
    ),
    "English: two tables side by side": Read(
        "Squad A,,,,Squad B,,\nName,Low (cm),High (cm),,Name,Low (cm),High (cm)\n"
        "Ida Marsh,165,245,,Una Fenn,160,240\nEva Reed,,,,Zoe Kerr,158,238\n",
        taken={"Ida Marsh": (1650, 2450), "Una Fenn": (1600, 2400), "Zoe Kerr": (1580, 2380)},
        persons=4,
    ),
    "English: last season and now, merged": Read(
        merged(
            "A1:A2 B1:C1 D1:E1",
            ["Name", "Low rail (cm)", None, "High rail (cm)", None],
            [None, "last season", "now", "last season", "now"],
            ["Marsh, Ida", 160, 165, 240, 245],
            ["Fenn, Una", 155, None, 235, None],
        ),
        waiting={"Marsh, Ida": (1650, 2450)},
        asked="B2 D2",
    ),
    "English: years in the second row": Read(
        "Name,Low rail (cm),,High rail (cm),\n,2024,2025,2024,2025\n"
        "Ida Marsh,160,165,240,245\nUna Fenn,155,,235,\n",
        asked="B2 C2 D2 E2",
        persons=2,
    ),
    "English: training and meet": Read(
        "Name,Low training (cm),Low meet (cm),High (cm)\nIda Marsh,160,165,245\n",
        waiting={"Ida Marsh": (2450,)},
        asked="B1 C1",
    ),
    "English: columns that nobody knows": Read(
        "Gymnast,LR,UR,W\nIda Marsh,165,245,158\n", asked="B1 C1 D1", persons=1
    ),
    "English: names and nothing else": Read(
        "Name\nIda Marsh\nUna Fenn\n", persons=2, groups=("", "")
    ),
    "English: a legend beside the rows": Read(
        "Name,Low rail (cm),High rail (cm),,,\nIda Marsh,165,245,,,grey = not confirmed\n"
        "Una Fenn,160,240,,,\n",
        waiting={"Ida Marsh": (1650, 2450), "Una Fenn": (1600, 2400)},
        asked="F2",
    ),
    "German: models over the columns": Read(
        merged(
            "A1:A2 B1:C1 D1:E1",
            ["Name", "Hallenbarren  NORD", None, "Reisebarren", None],
            [None, "Holm unten (cm)", "Holm oben (cm)", "Holm unten (cm)", "Holm oben (cm)"],
            ["Ahorn, Lea", 165, 245, 167, 247],
            ["Buche, Mia", None, None, 160, 240],
        ),
        taken={"Ahorn, Lea": (1650, 2450, 1670, 2470), "Buche, Mia": (1600, 2400)},
    ),
    "German: one of the models over columns is unknown": Read(
        merged(
            "A1:A2 B1:C1 D1:E1",
            ["Name", "Hallenbarren Nord", None, "Ostbarren", None],
            [None, "unten (cm)", "oben (cm)", "unten (cm)", "oben (cm)"],
            ["Ahorn, Lea", 165, 245, 167, 247],
            ["Buche, Mia", None, None, 160, 240],
        ),
        waiting={"Ahorn, Lea": (1650, 2450)},
        asked="D2 E2",
        persons=2,
    ),
    "German: groups between the rows": Read(
        "Turnerin;uH (cm);oH (cm)\nRiege 1;;\nLea Ahorn;165,5;245\nJugend E;;\nEva Linde;158;238\n"
        "Gesamt;2;2\n",
        taken={"Lea Ahorn": (1655, 2450), "Eva Linde": (1580, 2380)},
        groups=("Riege 1", "Jugend E"),
        asked="A6",
    ),
    "German: signs read in another encoding": Read(
        "Name;Vorname;Holm unten (cm)\nMÃ¼ller;Anja;165\nAhorn;Lea;158\n£ukasik;Ola;160\n"
        "O´Hara;Gal·la;162\nRuiz;Mª;163\n",
        taken={"Ahorn, Lea": (1580,), "O´Hara, Gal·la": (1620,), "Ruiz, Mª": (1630,)},
        asked="A2 A4",
    ),
    "French: clubs between the rows, or names": Read(
        "Nom et prénom;Barre inf. (cm);Barre sup. (cm)\nGYM LAVAL;;\nAUBIER Lise;165;245\n"
        "ESPERANCE;;\nCORMIER Zoé;158;238\n",
        taken={"AUBIER, Lise": (1650, 2450)},
        waiting={"CORMIER, Zoé": (1580, 2380)},
        asked="A2 A4",
        persons=3,
    ),
    "French: a word in a column of all sorts": Read(
        "Nom;Prénom;BI (trou);BS (trou);Divers\nAubier;Lise;7;12;\nCormier;Zoé;6;11;forfait\n",
        taken={"Aubier, Lise": ("7", "12")},
        waiting={"Cormier, Zoé": ("6", "11")},
        asked="E3",
    ),
    "Italian: a legend in a column of its own": Read(
        "Cognome e nome;Staggio inf. (cm);Staggio sup. (cm);;Legenda\n"
        "Alba Lia;165;245;;corsivo = da confermare\nDora Eva;158;238;;\nTotale ginnaste;2;;;\n",
        waiting={"Alba, Lia": (1650, 2450), "Dora, Eva": (1580, 2380)},
        asked="E1 E2 A4",
    ),
    "Spanish: the mats are in the lengths": Read(
        "Apellidos;Nombre;Banda inferior (cm);Banda superior (cm)\nPardo;Inés;166;246\n\n"
        "Las medidas incluyen la colchoneta de 20 cm\n",
        waiting={"Pardo, Inés": (1660, 2460)},
        asked="A4",
    ),
    "Portuguese: days of birth, and words with names": Read(
        "Atleta;Data nasc.;Banzo inferior (furo);Banzo superior (furo)\n"
        "Inês Areosa;5.3.2011;7;12\nRita Mar (lesionada);6.6.2012;6;6.6.\n",
        taken={"Inês Areosa": ("7", "12")},
        waiting={"Rita Mar (lesionada)": ("6",)},
        asked="A3 D3",
    ),
    "Dutch: a column of mats": Read(
        "Naam;Lage legger (cm);Hoge legger (cm);Mat (cm)\nLotte Beuk;165;245;20\n"
        "Sanne Eik;160;240;\n",
        taken={"Sanne Eik": (1600, 2400)},
        waiting={"Lotte Beuk": (1650, 2450)},
        asked="D2",
    ),
    "Italian: a title says that it is a draft": Read(
        "BOZZA – misure\nCognome;Nome;Staggio basso (cm)\nAlba;Lia;165\n",
        waiting={"Alba, Lia": (1650,)},
        asked="A1",
    ),
    "English: a model written once for several rows": Read(
        "Model;Name;Low (cm)\nHallenbarren Nord;Ida Marsh;165\n;Una Fenn;160\n"
        "Reisebarren;Eva Reed;158\n",
        taken={"Ida Marsh": (1650,), "Eva Reed": (1580,)},
        waiting={"Una Fenn": (1600,)},
        asked="A1",
    ),
    "Polish: models between the rows": Read(
        "Zawodniczka;Dolna (cm);Górna (cm)\nhallenbarren nord;;\nEwa Brzozolas;165;245\n"
        "REISEBARREN;;\nIga Dębiak;160;240\n",
        taken={"Ewa Brzozolas": (1650, 2450), "Iga Dębiak": (1600, 2400)},
    ),
    "Dutch: struck, commented, hidden and old": Read(
        dutch_marks(),
        waiting={"Beuk, Lotte": (1650, 2450)},
        asked="C1 A3 E1",
        persons=2,
    ),
    "Czech: a sentence between the rows": Read(
        "Příjmení;Jméno;Dolní žerď (otvor);Horní žerď (otvor)\nMalá;Jana;7;12\n"
        ";;od příště o dírku výš;\nBílá;Iva;6;11\n",
        waiting={"Malá, Jana": ("7", "12"), "Bílá, Iva": ("6", "11")},
        asked="C3",
    ),
    "Hungarian: twins by the year": Read(
        "Név;Szül. év;Alsó karfa (cm)\nTölgy Anna;2010;165\nTölgy Anna;2013;150\nTölgy Anna;;160\n",
        taken={"Tölgy Anna": (1650, 1500)},
        waiting={"Tölgy Anna": (1600,)},
        asked="A4",
    ),
    "Russian: ranks between the rows": Read(
        "ФИО;Н/ж;В/ж\nКМС;;\nБерёзова Ольга;165;245\nДубова Ира;160;240\n1 разряд;;\n"
        "Кленова Вера;155;235\n",
        taken={
            "Берёзова, Ольга": (1650, 2450),
            "Дубова, Ира": (1600, 2400),
            "Кленова, Вера": (1550, 2350),
        },
        groups=("КМС", "КМС", "1 разряд"),
    ),
    "Ukrainian: athletes in columns": Read(
        "Гімнастка;Гай Мар'яна;Ліс Олена\nГрупа;КМС;1 розряд\nНижня (см);165;160\n"
        "Верхня (см);245;240\nПримітка;;підростає\n",
        taken={"Гай Мар'яна": (1650, 2450)},
        waiting={"Ліс Олена": (1600, 2400)},
        groups=("КМС", "1 розряд"),
        asked="C5",
    ),
    "Japanese: groups between the rows": Read(
        "（mm）,,\n氏名,低棒,高棒\n1班,,\n山田　花,１６６０,２４６０\n2班,,\n"
        "森　桜,1680,2480\n合計,2,\n",
        taken={"山田, 花": (1660, 2460), "森, 桜": (1680, 2480)},
        groups=("1班", "2班"),
        asked="A7",
    ),
    "Turkish: a unit in each cell": Read(
        'Ad Soyad;Alt bar;Üst bar\nEce Çınar;1650mm;2,45 m\nOya Ilgın;62 1/4";94"\n',
        taken={"Çınar, Ece": (1650, 2450), "Ilgın, Oya": (1581, 2388)},
    ),
}


@pytest.mark.parametrize("name", LISTS)
def test_a_list_is_read_as_a_person_reads_it(name: str) -> None:
    """What is sure is taken; whoever a doubt bears on waits; each doubt is one line."""
    read, found = LISTS[name], LISTS[name].found()

    for values, of in ((found.accepted, read.taken), (found.waiting, read.waiting)):
        by_athlete: dict[str, list[int | str]] = {}
        for value in sorted(values, key=lambda value: (value.row, value.column)):
            by_athlete.setdefault(value.athlete, []).append(value.value_mm or value.mark or "")
        assert {who: tuple(said) for who, said in by_athlete.items()} == of
    assert sorted(f"{query.column}{query.row}" for query in found.queries) == sorted(
        read.asked.split()
    )
    if read.groups:
        assert tuple(person.group for person in found.persons) == read.groups
    assert read.persons in (None, len(found.persons))


class TestWhatStandsOverColumns:
    def test_each_value_is_for_the_model_over_its_column(self) -> None:
        """The setting of one make on another would be centimetres off."""
        found = LISTS["German: models over the columns"].found()
        assert {(value.column, value.model) for value in found.accepted} == {
            ("B", "Hallenbarren Nord"),
            ("C", "Hallenbarren Nord"),
            ("D", "Reisebarren"),
            ("E", "Reisebarren"),
        }

    def test_a_person_says_which_model_is_meant_or_that_nothing_is_taken(self) -> None:
        read = LISTS["German: one of the models over columns is unknown"]
        keys = [question.key for question in read.found().column_questions]
        said = read.found(dict.fromkeys(keys, "Reisebarren"))
        assert [value.model for value in said.accepted if value.column in "DE"] == [
            "Reisebarren"
        ] * 4
        left = read.found(dict.fromkeys(keys, "leave_out"))
        assert {value.column for value in left.accepted} == {"B", "C"}

    def test_a_person_says_which_of_two_columns_counts(self) -> None:
        """The other one is left out, not compared."""
        read = LISTS["English: years in the second row"]
        found = read.found({"counts:!B": "C", "counts:!D": "E"})
        assert [value.value_mm for value in found.accepted] == [1650, 2450]
        assert found.queries == ()

    def test_an_old_column_is_taken_only_if_asked_for(self) -> None:
        """Then it is as good as the other one, and which counts is asked."""
        read = LISTS["English: last season and now, merged"]
        keys = [note.key for note in read.found().notes if note.kind is NoteKind.HEADER]
        left = read.found(dict.fromkeys(keys, "leave_out"))
        assert [value.value_mm for value in left.accepted] == [1650, 2450]
        assert len(read.found(dict.fromkeys(keys, "read")).column_questions) == 2

    def test_a_mark_is_known_by_what_is_printed_however_unusual(self) -> None:
        """In a column of marks, and typed for a cell of any column; 17 8.0 is no label 178.0."""
        marks = {"Reisebarren": {LOW: {"III / b", "IV", "178.0"}, HIGH: {"IV"}}}
        text = "Name;Low rail (hole);High rail (cm)\nIda Marsh;iii/b;245\nUna Fenn;17 8.0;?\n"
        found = read_lists(
            text.encode(), "list.csv", MODELS, marks=marks, answers={"cell:!C3": "IV"}
        )
        assert [value.mark or value.value_mm for value in found.accepted] == ["III / b", 2450, "IV"]
        assert [query.read for query in found.queries] == ["17 8.0"]

    def test_a_length_typed_with_its_unit_is_one_in_a_column_of_marks_too(self) -> None:
        """It is what the question asks for; the cell itself stays asked about."""
        text = "Name;Low rail (hole);High rail (cm)\nIda Marsh;172,0 cm;245\n"
        asked = read_lists(text.encode(), "list.csv", MODELS)
        assert [query.read for query in asked.queries] == ["172,0 cm"]
        found = read_lists(text.encode(), "list.csv", MODELS, answers={"cell:!B2": "172,0 cm"})
        assert [value.value_mm for value in found.accepted] == [1720, 2450]
        assert not found.queries


class TestWhatStandsOverRows:
    @pytest.mark.parametrize(("answer", "model"), [("above", "Hallenbarren Nord"), ("none", None)])
    def test_a_person_says_what_blanks_below_a_model_mean(
        self, answer: str, model: str | None
    ) -> None:
        read = LISTS["English: a model written once for several rows"]
        found = read.found({"blank:!A": answer})
        assert [value.model for value in found.accepted] == [
            "Hallenbarren Nord",
            model,
            "Reisebarren",
        ]

    def test_the_model_of_a_heading_holds_for_the_rows_below_it(self) -> None:
        found = LISTS["Polish: models between the rows"].found()
        assert [value.model for value in found.accepted] == [
            *["Hallenbarren Nord"] * 2,
            *["Reisebarren"] * 2,
        ]

    @pytest.mark.parametrize(
        ("answer", "club", "group", "persons"),
        [("club", "ESPERANCE", "", 2), ("group", "", "ESPERANCE", 2), ("athlete", "", "", 4)],
    )
    def test_a_person_says_what_a_line_heads(
        self, answer: str, club: str, group: str, persons: int
    ) -> None:
        """Of all such lines at once, where they are all alike."""
        read = LISTS["French: clubs between the rows, or names"]
        answers = {
            note.of_column or note.key: answer for note in read.found().notes if note.is_open
        }
        found = read.found(answers)
        zoe = next(person for person in found.persons if person.given_name == "Zoé")
        assert (zoe.club, zoe.group, len(found.persons)) == (club, group, persons)
        assert len(found.accepted) == 4

    def test_a_name_alone_may_be_an_athletes(self) -> None:
        """Where a comma tells both names nobody is asked; a list of names has no headings."""
        found = Read("Name;Low (cm)\nMarsh, Ida;165\nKerr, Zoe;\nFenn, Una;160\n").found()
        assert ([person.shown for person in found.persons], found.queries) == (
            ["Marsh, Ida", "Kerr, Zoe", "Fenn, Una"],
            (),
        )


def test_a_note_beside_two_tables_bears_on_both() -> None:
    read = LISTS["English: two tables side by side"]
    assert isinstance(read.content, str)
    found = Read(read.content + "\nHeights above the mat\n").found()
    assert (found.accepted, len(found.waiting)) == ((), 6)
