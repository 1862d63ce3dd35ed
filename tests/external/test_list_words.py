"""The words and ranges of the list importer, against what is published about the apparatus.

Apparatus names: the names under which the sport's apparatus are known in each language, as in the
headings of the encyclopaedia's language versions and of the federations' programmes. None of these
could be read here, so every name below is marked "from memory". Heights and widths are those of
the published tables named beside each. Digits are those of the Unicode Character Database that
comes with Python.
"""

import unicodedata

import pytest

from settingsdesk.sheets.lists.units import ListUnit
from settingsdesk.sheets.lists.values import Said, Value, read_value
from settingsdesk.sheets.lists.values_ranges import range_of
from settingsdesk.sheets.lists.values_text import plain
from settingsdesk.sheets.lists.vocabulary import header_words, unit_word
from settingsdesk.sheets.table import CellKind

APPARATUS_NAMES = [  # each from memory
    ("en", "uneven bars", "uneven_bars"),
    ("en", "horizontal bar", "horizontal_bar"),
    ("en", "parallel bars", "parallel_bars"),
    ("en", "still rings", "rings"),
    ("en", "pommel horse", "pommel_horse"),
    ("en", "balance beam", "balance_beam"),
    ("de", "Stufenbarren", "uneven_bars"),
    ("de", "Reck", "horizontal_bar"),
    ("de", "Schwebebalken", "balance_beam"),
    ("de", "Pauschenpferd", "pommel_horse"),
    ("fr", "barres asymétriques", "uneven_bars"),
    ("fr", "barre fixe", "horizontal_bar"),
    ("fr", "barres parallèles", "parallel_bars"),
    ("fr", "poutre", "balance_beam"),
    ("fr", "anneaux", "rings"),
    ("it", "parallele asimmetriche", "uneven_bars"),
    ("it", "sbarra", "horizontal_bar"),
    ("it", "trave", "balance_beam"),
    ("it", "cavallo con maniglie", "pommel_horse"),
    ("es", "barras asimétricas", "uneven_bars"),
    ("es", "barra fija", "horizontal_bar"),
    ("es", "caballo con arcos", "pommel_horse"),
    ("es", "barra de equilibrio", "balance_beam"),
    ("pl", "poręcze asymetryczne", "uneven_bars"),
    ("pl", "drążek", "horizontal_bar"),
    ("pl", "równoważnia", "balance_beam"),
    ("pl", "koń z łękami", "pommel_horse"),
    ("pt", "paralelas assimétricas", "uneven_bars"),
    ("pt", "barra fixa", "horizontal_bar"),
    ("pt", "argolas", "rings"),
    ("pt", "cavalo com alças", "pommel_horse"),
    ("ja", "段違い平行棒", "uneven_bars"),
    ("ja", "鉄棒", "horizontal_bar"),
    ("ja", "平行棒", "parallel_bars"),
    ("ja", "平均台", "balance_beam"),
    ("ja", "つり輪", "rings"),
    ("ja", "あん馬", "pommel_horse"),
    ("ja", "跳馬", "vault_table"),
    ("vi", "xà lệch", "uneven_bars"),
    ("vi", "xà đơn", "horizontal_bar"),
    ("vi", "xà kép", "parallel_bars"),
    ("vi", "cầu thăng bằng", "balance_beam"),
    ("vi", "vòng treo", "rings"),
    ("ar", "العقلة", "horizontal_bar"),
    ("ar", "المتوازي", "parallel_bars"),
    ("ar", "الحلق", "rings"),
    ("ar", "عارضة التوازن", "balance_beam"),
    ("zh", "高低杠", "uneven_bars"),
    ("zh", "单杠", "horizontal_bar"),
    ("zh", "双杠", "parallel_bars"),
    ("zh", "平衡木", "balance_beam"),
    ("ru", "разновысокие брусья", "uneven_bars"),
    ("ru", "перекладина", "horizontal_bar"),
    ("hu", "felemás korlát", "uneven_bars"),
    ("cs", "hrazda", "horizontal_bar"),
    ("sv", "räck", "horizontal_bar"),
    ("sv", "bygelhäst", "pommel_horse"),
    ("sv", "bom", "balance_beam"),
]

PUBLISHED_CM = [
    # Team GB apparatus page, archived 2014, and the international federation's site
    ("uneven_bars", "high_rail", 250),
    ("uneven_bars", "low_rail", 170),
    # usgyms.net (2000 to 2010), to the underside
    ("uneven_bars", "high_rail", 246),
    ("uneven_bars", "low_rail", 166),
    # All-China sports federation page, above the mat
    ("uneven_bars", "high_rail", 230),
    ("uneven_bars", "low_rail", 150),
    # the encyclopaedia's "Uneven bars", citing the Apparatus Norms
    ("uneven_bars", "spread", 130),
    ("uneven_bars", "spread", 190),
    # the encyclopaedia's "Parallel bars", citing the Apparatus Norms
    ("parallel_bars", "rails", 200),
    ("parallel_bars", "rails", 175),
    ("parallel_bars", "spread", 42),
    ("parallel_bars", "spread", 52),
    # usgyms.net and canadagames.ca
    ("horizontal_bar", "rail", 280),
    ("horizontal_bar", "rail", 260),
    ("rings", "rings", 280),
    ("pommel_horse", "body", 115),
    ("pommel_horse", "body", 105),
    # the encyclopaedia's mirror and Britannica's text
    ("pommel_horse", "pommels", 40),
    ("pommel_horse", "pommels", 45),
    # usgyms.net, and Gymnastics BC 2014-15 for age groups
    ("balance_beam", "beam", 125),
    ("balance_beam", "beam", 100),
    ("vault_table", "table", 135),
    ("vault_table", "table", 105),
]


class TestApparatusNames:
    @pytest.mark.parametrize(("language", "name", "kind"), APPARATUS_NAMES)
    def test_are_those_under_which_the_sport_knows_the_apparatus(self, language, name, kind):
        """A title in the club's own language says whose settings follow (from memory)."""
        assert header_words(name).kind == kind, language


class TestPublishedSizes:
    @pytest.mark.parametrize(("kind", "axis", "cm"), PUBLISHED_CM)
    def test_are_read_and_ten_times_or_a_tenth_of_them_never(self, kind, axis, cm):
        """The ranges are wide enough for every norm and narrow enough for a lost point."""
        said = Said(axis, ListUnit.CM, kind=kind)
        read = read_value(str(cm), CellKind.TEXT, said)
        assert isinstance(read, Value)
        assert read.value_mm == cm * 10
        assert not isinstance(read_value(str(cm * 10), CellKind.TEXT, said), Value)
        assert not isinstance(read_value(f"{cm / 10}", CellKind.TEXT, said), Value)

    @pytest.mark.parametrize(("kind", "axis", "cm"), PUBLISHED_CM)
    def test_in_inches_are_never_taken_for_centimetres(self, kind, axis, cm):
        """The inch is 25.4 mm exactly (international yard and pound agreement of 1959)."""
        assert not range_of(kind, axis).holds(round(cm / 2.54) * 10)


class TestUnitSigns:
    @pytest.mark.parametrize(
        ("sign", "unit"),
        [
            ("mm", ListUnit.MM),  # SI brochure, prefixes milli and centi
            ("cm", ListUnit.CM),
            ("m", ListUnit.M),
            ("in", ListUnit.INCH),  # ISO 80000-3, annex on units that are not SI: from memory
            ("㎜", ListUnit.MM),  # compatibility decompositions of the Unicode Character Database
            ("㎝", ListUnit.CM),
            ("см", ListUnit.CM),  # Russian law on units of measurement: from memory
        ],
    )
    def test_are_the_published_ones(self, sign, unit):
        """A sign stands for one unit the world over."""
        assert unit_word(sign) is unit


class TestDigits:
    @pytest.mark.parametrize("zero", "0٠۰०০੦૦୦௦౦೦൦๐໐༠၀០᠐０")
    def test_of_every_script_are_those_of_the_unicode_character_database(self, zero):
        """A digit read as another would move a rail."""
        for digit in range(10):
            sign = chr(ord(zero) + digit)
            assert unicodedata.decimal(sign) == digit
            assert plain(sign) == str(digit)

    @pytest.mark.parametrize("sign", "²①⑦㊆")
    def test_that_are_raised_or_circled_are_no_digits(self, sign):
        """25² is not 252."""
        assert plain(f"25{sign}") == f"25{sign}"

    def test_set_apart_in_threes_by_a_thin_space_are_one_number(self):
        """SI brochure, 9th edition, 5.4.4: digits may be grouped in threes by a thin space."""
        read = read_value("2\u2009455 mm", CellKind.TEXT, Said("high_rail"))
        assert isinstance(read, Value)
        assert read.value_mm == 2455
