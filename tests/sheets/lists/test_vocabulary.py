"""The words of coaches' lists: what headers, titles and cells say, and what stays open."""

import tomllib
import unicodedata
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import Edge, HeightDatum, Level, SpreadDatum
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.vocabulary import (
    ALL_AXES,
    CellSays,
    Role,
    RowSays,
    cell_says,
    header_words,
    row_says,
    together,
    unit_word,
)
from settingsdesk.sheets.lists.vocabulary_table import meanings_of

TABLE = tomllib.loads(
    resources.files("settingsdesk.sheets.lists").joinpath("words.toml").read_text("utf-8")
)
LANGUAGES = ("en", "de", "fr", "it", "es", "pl", "pt", "ja", "vi", "ar")
FLOOR, MAT = HeightDatum(Level.FLOOR), HeightDatum(Level.MAT)

RAILS = {
    "en": ("low rail", "high rail", "spread"),
    "de": ("Holm unten", "Holm oben", "Holmweite"),
    "fr": ("barre inférieure", "barre supérieure", "écartement"),
    "it": ("staggio inferiore", "staggio superiore", "distanza tra gli staggi"),
    "es": ("banda inferior", "banda superior", "separación de barras"),
    "pl": ("żerdź dolna", "żerdź górna", "rozstaw żerdzi"),
    "pt": ("banzo inferior", "banzo superior", "distância entre banzos"),
    "ja": ("低棒", "高棒", "バー間隔"),
    "vi": ("xà thấp", "xà cao", "khoảng cách hai xà"),
    "ar": ("العارضة السفلى", "العارضة العليا", "المسافة بين العارضتين"),
    "nl": ("lage legger", "hoge legger", "leggerafstand"),
    "sv": ("nedre stången", "övre stången", "avstånd mellan stängerna"),
    "no": ("nedre stang", "øvre stang", "avstand mellom stengene"),
    "cs": ("spodní žerď", "horní žerď", "vzdálenost žerdí"),
    "hu": ("alsó karfa", "felső karfa", "karfák távolsága"),
    "ru": ("нижняя жердь", "верхняя жердь", "расстояние между жердями"),
    "uk": ("нижня жердина", "верхня жердина", "відстань між жердинами"),
    "zh": ("低杠", "高杠", "杠距"),
}
UNITS = [
    ("({})", ("cm", "mm", "m", "in")),
    (" [{}]", ("cm", "mm")),
    (", {}", ("cm", "mm", "m", "in")),
]


def all_phrases(section: str, language: str) -> list[tuple[str, str]]:
    return [
        (name, phrase)
        for name, languages in TABLE[section].items()
        for phrase in languages.get(language, [])
    ]


class TestTheRailsOfUnevenBars:
    @pytest.mark.parametrize("language", RAILS)
    def test_are_told_apart_in_every_language(self, language):
        """Low for high on the bars is the slip that hurts."""
        low, high, spread = map(header_words, RAILS[language])
        assert (low.kind, low.axis, low.role) == ("uneven_bars", "low_rail", Role.VALUE)
        assert (high.kind, high.axis, high.role) == ("uneven_bars", "high_rail", Role.VALUE)
        assert spread.axis == "spread"
        assert not any(said.is_ambiguous for said in (low, high, spread))
        assert together([low, high, spread])[2].kind == "uneven_bars"

    @pytest.mark.parametrize("language", RAILS)
    @pytest.mark.parametrize(
        ("pattern", "unit"),
        [(pattern, unit) for pattern, units in UNITS for unit in units],
    )
    def test_are_read_with_the_unit_in_the_same_header(self, language, pattern, unit):
        """One header says axis and unit at once."""
        for text, axis in zip(RAILS[language], ("low_rail", "high_rail", "spread"), strict=True):
            said = header_words(text + pattern.format(unit))
            assert (said.axis, said.unit) == (axis, ListUnit(unit)), text

    @pytest.mark.parametrize(
        ("text", "axis", "unit", "datum"),
        [
            ("Holm oben (cm, ab Boden)", "high_rail", ListUnit.CM, FLOOR),
            ("Barre supérieure – cm", "high_rail", ListUnit.CM, None),
            ("Niedriger Holm / Loch-Nr.", "low_rail", ListUnit.MARK, None),
            ("High rail\n(cm above mat)", "high_rail", ListUnit.CM, MAT),
            ("staggio alto (mm dal pavimento)", "high_rail", ListUnit.MM, FLOOR),
            ("Oberholm OK über Matte [cm]", "high_rail", ListUnit.CM, MAT),
            ("Chiều cao xà trên (cm) từ sàn", "high_rail", ListUnit.CM, FLOOR),
            ("الارتفاع: العارضة العليا بالسم (من الأرض)", "high_rail", ListUnit.CM, FLOOR),
            ("高棒（ｃｍ）床から", "high_rail", ListUnit.CM, FLOOR),
            ("banda alta cm desde el suelo", "high_rail", ListUnit.CM, FLOOR),
            ("HOLM OBEN (Boden)", "high_rail", None, FLOOR),
            ("żerdź górna – dziura", "high_rail", ListUnit.MARK, None),
            ("low rail UK cm", "low_rail", ListUnit.CM, HeightDatum(edge=Edge.UNDERSIDE)),
        ],
    )
    def test_are_read_with_unit_and_datum_together(self, text, axis, unit, datum):
        """What the header says is not asked again, and what it does not say is not made up."""
        said = header_words(text)
        assert (said.axis, said.unit, said.datum) == (axis, unit, datum)

    @pytest.mark.parametrize(
        ("text", "datum"),
        [
            ("Innendiagonale (cm)", SpreadDatum.INNER),
            ("Weite innen", SpreadDatum.INNER),
            ("écartement horizontal", SpreadDatum.CENTRES_HORIZONTAL),
            ("Spread, centre to centre", SpreadDatum.CENTRES_DIAGONAL),
            ("Spread", None),
        ],
    )
    def test_have_a_spread_between_the_points_that_are_stated(self, text, datum):
        """Inner diagonal and horizontal distance differ by more than anybody accepts."""
        assert header_words(text).axis == "spread"
        assert header_words(text).spread is datum


class TestSpelling:
    @pytest.mark.parametrize("section", ["kind", "part", "role", "unit", "level", "edge"])
    @pytest.mark.parametrize("language", LANGUAGES)
    def test_of_every_phrase_may_be_in_capitals_and_decomposed(self, section, language):
        """A file from another system writes the same word with other code points."""
        for _, phrase in all_phrases(section, language):
            decomposed = unicodedata.normalize("NFD", phrase.upper())
            upper, plain = header_words(decomposed), header_words(phrase)
            assert (upper.roles, upper.axes, upper.units) == (plain.roles, plain.axes, plain.units)

    @pytest.mark.parametrize(
        ("text", "same"),
        [
            ("barre superieure", "barre supérieure"),
            ("zerdz gorna", "żerdź górna"),
            ("Holmenhoehe", "Holmenhöhe"),
            ("xa cao", "xà cao"),
            ("العارضه العليا", "العارضة العليا"),
            ("ارتفاع العارضة عن الارض", "ارتفاع العارضة عن الأرض"),
        ],
    )
    def test_without_accents_is_the_same_word(self, text, same):
        """Accents are lost on the way through many a program."""
        assert header_words(text).axes == header_words(same).axes != ()
        assert header_words(text).levels == header_words(same).levels

    def test_of_two_german_words_in_one_is_read_by_its_parts(self):
        """German makes one word of apparatus and height."""
        assert header_words("Reckhöhe").axis == "rail"
        assert header_words("Balkenhöhe (cm)").axis == "beam"
        assert header_words("Holmhöhe oben").axis == "high_rail"

    def test_with_accents_is_that_word_alone(self):
        """Höhe is the height and hohe the high one; without accents nobody can tell."""
        assert len(header_words("Höhe unten").axes) == 1
        assert header_words("hohe").axes == header_words("Höhe").axes
        assert header_words("hoher Holm").axis == "high_rail"
        assert header_words("tên").role is Role.GIVEN_NAME
        assert header_words("ten").role is None

    @given(st.text(max_size=60))
    def test_of_no_language_is_read_without_complaint(self, text):
        """A header can be anything."""
        said = header_words(text)
        assert set(said.axes) <= ALL_AXES
        row_says(text), cell_says(text), unit_word(text)


class TestWhatIsAmbiguous:
    @pytest.mark.parametrize(
        "text",
        ["HB", "high bar", "barre", "height", "Höhe", "altura", "高さ", "distance", "bars",
         "Barren (cm)", "PB (cm)"],
    )  # fmt: skip
    def test_is_not_guessed(self, text):
        """The wrong of two rails is worse than a question."""
        said = header_words(text)
        assert said.is_ambiguous
        assert said.axis is None
        assert len(said.axes) > 1
        assert said.why_ambiguous.endswith(": choose which is meant")

    def test_is_said_in_full(self):
        """The coach reads what the header can mean and what to do."""
        assert header_words("HB").why_ambiguous == (
            "'HB' can mean the high rail height of the uneven bars or the rail height of the"
            " horizontal bar: choose which is meant"
        )

    def test_is_settled_by_the_apparatus_that_is_known(self):
        """Below the title "Reck" a height is that of the bar."""
        assert header_words("HB").within("uneven_bars").axis == "high_rail"
        assert header_words("height").within("horizontal_bar").axis == "rail"
        assert header_words("height").within("uneven_bars").is_ambiguous

    def test_is_settled_by_words_beside_it(self):
        """ "UB" before "HB" says whose."""
        assert header_words("UB HB").axis == "high_rail"
        assert header_words("barre fixe hauteur").axis == "rail"

    def test_is_settled_by_the_other_headers_of_the_table(self):
        """HB beside the low rail of the uneven bars is the high one."""
        low, high = together([header_words("low rail"), header_words("HB")])
        assert (low.axis, high.axis) == ("low_rail", "high_rail")

    def test_stays_open_beside_headers_of_other_apparatus(self):
        """In a men's list nothing says that HB is not a rail, so it is asked."""
        _, bar = together([header_words("rings height"), header_words("HB")])
        assert bar.is_ambiguous

    def test_are_two_units_and_two_roles_in_one_header(self):
        """The unit of such a column is not known, nor is whose name it holds."""
        assert header_words("rail height (cm/in)").unit is None
        assert header_words("Club / Group").is_ambiguous
        assert header_words("high rail (floor / mat)").is_ambiguous

    def test_is_a_diagonal_until_it_is_said_between_which_points(self):
        """Inner faces or centres: the rail's thickness lies between the two."""
        said = header_words("Diagonale (cm)")
        assert (said.axis, said.spread, said.is_ambiguous) == ("spread", None, True)
        assert "between the rails' inner faces or straight distance" in said.why_ambiguous
        assert header_words("Diagonale innen (cm)").spread is SpreadDatum.INNER
        assert header_words("Diagonal (inside)").spread is SpreadDatum.INNER


class TestWhatWordsDoNotSay:
    def test_a_mat_of_twenty_centimetres_is_no_unit_of_the_column(self):
        """A note about mats says nothing about heights."""
        assert header_words("Matten 20 cm").unit is None

    def test_m_for_men_is_no_metre_and_in_is_no_inch(self):
        """Both are words as well."""
        assert header_words("m/w").unit is None
        assert header_words("Angaben in cm").unit is ListUnit.CM
        assert header_words("Run-up (m)").unit is ListUnit.M

    def test_the_height_of_a_person_is_no_height_of_a_rail(self):
        """Body measures are not kept, and least of all set on the apparatus."""
        for text in ("Körpergröße (cm)", "taille", "statura", "身長", "الطول", "body height (cm)"):
            assert header_words(text).role is Role.NOT_KEPT, text
            assert not header_words(text).axes

    def test_a_part_of_a_word_is_not_the_word(self):
        """There is a bar in Barbara."""
        assert header_words("Barbara").unread == ("barbara",)
        assert not header_words("Barbara").axes


class TestLegends:
    @pytest.mark.parametrize(
        ("text", "unit", "datum"),
        [
            ("all values in cm", ListUnit.CM, None),
            ("Alle Angaben in cm, ab Boden", ListUnit.CM, FLOOR),
            ("mesures en mm, du sol", ListUnit.MM, FLOOR),
            ("misure in cm dal tappeto", ListUnit.CM, MAT),
            ("medidas en cm desde el suelo", ListUnit.CM, FLOOR),
            ("wymiary w cm od podłogi", ListUnit.CM, FLOOR),
            ("medidas em cm a partir do chão", ListUnit.CM, FLOOR),
            ("単位：ｃｍ（床から）", ListUnit.CM, FLOOR),
            ("đơn vị tính: cm, tính từ mặt sàn", ListUnit.CM, FLOOR),
            ("جميع القياسات بالسنتيمتر من الأرض", ListUnit.CM, FLOOR),
            ("все размеры в см от пола", ListUnit.CM, FLOOR),
        ],
    )
    def test_say_unit_and_datum_for_the_whole_table(self, text, unit, datum):
        """A title line that says it once is as good as a header."""
        assert (header_words(text).unit, header_words(text).datum) == (unit, datum)

    @pytest.mark.parametrize(
        ("text", "kind"),
        [
            ("Uneven bars: settings 2026", "uneven_bars"),
            ("Stufenbarren – Einstellungen", "uneven_bars"),
            ("Réglages barre fixe", "horizontal_bar"),
            ("Poręcze asymetryczne, ustawienia", "uneven_bars"),
        ],
    )
    def test_say_the_apparatus(self, text, kind):
        """One sheet for each apparatus is common."""
        assert header_words(text).kind == kind


class TestNames:
    def test_beside_a_given_name_is_the_family_name(self):
        """ "Name" and "Vorname" are the two halves of a name."""
        headers = together([header_words("Name"), header_words("Vorname")])
        assert [said.role for said in headers] == [Role.FAMILY_NAME, Role.GIVEN_NAME]

    def test_beside_a_family_name_is_the_given_name(self):
        """ "Cognome" and "Nome" likewise, the other way round."""
        headers = together([header_words("Cognome"), header_words("Nome")])
        assert [said.role for said in headers] == [Role.FAMILY_NAME, Role.GIVEN_NAME]

    @pytest.mark.parametrize(
        "headers",
        [("Last", "First"), ("Surname", "First"), ("Athlete's surname", "Athlete's first name")],
    )
    def test_is_one_of_two_where_the_other_has_a_column_too(self, headers):
        """ "Last" alone is no name at all, and "Athlete's surname" may head both."""
        said = together([header_words(header) for header in headers])
        assert [one.role for one in said] == [Role.FAMILY_NAME, Role.GIVEN_NAME]

    def test_alone_is_the_whole_name(self):
        """Nobody has only half a name."""
        assert together([header_words("Name")])[0].role is Role.FULL_NAME

    @pytest.mark.parametrize(
        ("text", "family_first"),
        [
            ("Name, Vorname", True),
            ("Nom et prénom", True),
            ("Nombre y apellidos", False),
            ("Imię i nazwisko", False),
            ("氏名", True),
            ("Họ và tên", True),
            ("First name and last name", False),
            ("Full name", None),
            ("Gymnast (surname first)", True),
            ("Turnerin (Vorname zuerst)", False),
            ("Gymnast (surname)", None),
        ],
    )
    def test_in_one_column_come_in_the_order_that_the_header_tells(self, text, family_first):
        """Which half is the family name is read, not guessed from the look of it."""
        said = header_words(text)
        assert (said.role, said.family_first) == (Role.FULL_NAME, family_first)


class TestRoles:
    @pytest.mark.parametrize("language", LANGUAGES)
    @pytest.mark.parametrize(
        "role", ["club", "group", "start_number", "birth_year", "kind", "model", "axis", "value",
                 "unit", "accepts", "remark", "raise", "running_number", "not_kept"],
    )  # fmt: skip
    def test_have_words_in_every_language_of_the_sport(self, language, role):
        """A list in any of them is read without a mapping by hand."""
        words = TABLE["role"][role].get(language, [])
        assert words
        assert any(Role[role.upper()] in header_words(word).roles for word in words), words

    def test_of_a_deviation_keep_their_axis(self):
        """A tolerance belongs to one rail."""
        said = header_words("Holm oben Toleranz (± cm)")
        assert (said.role, said.axis, said.unit) == (Role.ACCEPTS, "high_rail", ListUnit.CM)


class TestCells:
    @pytest.mark.parametrize("language", LANGUAGES)
    def test_say_in_every_language_that_they_point_elsewhere_or_are_not_settled(self, language):
        """Neither is a value, and each is asked about in its own words."""
        for phrase in TABLE["cell"]["same"][language]:
            assert cell_says(f"{phrase} Ada") in (CellSays.SAME, None), phrase
        assert cell_says(f"{TABLE['cell']['same'][language][-1]} Ada") is CellSays.SAME
        for phrase in TABLE["cell"]["unsettled"][language]:
            assert cell_says(phrase) is CellSays.UNSETTLED, phrase

    def test_that_hold_a_name_say_nothing(self):
        """A name is no remark."""
        assert cell_says("Ada Example") is None


class TestRows:
    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("Total", RowSays.TOTAL),
            ("Summe:", RowSays.TOTAL),
            ("n = 12", RowSays.TOTAL),
            ("Mittelwert", RowSays.AVERAGE),
            ("Maximum", RowSays.AVERAGE),
            ("最小値", RowSays.AVERAGE),
            ("Max", None),
            ("Ø", RowSays.AVERAGE),
            ("moyenne", RowSays.AVERAGE),
            ("średnia", RowSays.AVERAGE),
            ("合計", RowSays.TOTAL),
            ("trung bình", RowSays.AVERAGE),
            ("المجموع", RowSays.TOTAL),
            ("* with new grips", RowSays.FOOTNOTE),
            ("1) asked by phone", RowSays.FOOTNOTE),
            ("Note: bars are new", RowSays.FOOTNOTE),
            ("Ada Total", None),
            ("Ada Example", None),
        ],
    )
    def test_that_are_no_athletes_are_told(self, text, says):
        """A mean is nobody's setting, and a girl called Max has one."""
        assert row_says(text) is says


class TestTheTable:
    def test_has_every_apparatus_in_every_language(self):
        """The names of the apparatus are what a title says first."""
        for kind in KINDS:
            assert set(LANGUAGES) <= set(TABLE["kind"][kind]), kind

    @pytest.mark.parametrize("language", LANGUAGES)
    def test_reads_every_word_of_its_own_as_it_says(self, language):
        """A word of one language must not be swallowed by another's."""
        for kind, phrase in all_phrases("kind", language):
            kinds = {at.kind for at in header_words(phrase).axes}
            assert kind in kinds, phrase
        for unit, phrase in all_phrases("unit", language):
            assert unit_word(phrase) is ListUnit(unit), phrase

    def test_is_read_as_a_whole(self):
        """A word that is in the table and never found would be a promise not kept."""
        for section, names in TABLE.items():
            for name, languages in names.items():
                for phrase in (phrase for phrases in languages.values() for phrase in phrases):
                    assert (section, name) in meanings_of(phrase), phrase

    def test_takes_no_unit_for_two(self):
        """A word for two units would be a guess at every cell."""
        for _, languages in TABLE["unit"].items():
            for phrases in languages.values():
                assert all(unit_word(phrase) for phrase in phrases)
