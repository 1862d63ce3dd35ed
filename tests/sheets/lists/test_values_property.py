"""Every value in every notation that is read comes back exactly; nothing else is ever accepted."""

import re
import unicodedata
from fractions import Fraction

from hypothesis import example, given, settings
from hypothesis import strategies as st

from settingsdesk.domain.base.figures import format_length, read_length_mm
from settingsdesk.domain.base.units import Unit
from settingsdesk.sheets.lists.values import Doubt, ListUnit, Said, Value, read_value
from settingsdesk.sheets.table import CellKind

SCRIPTS = {
    "Latin": "0123456789",
    "Arabic": "٠١٢٣٤٥٦٧٨٩",
    "Persian": "۰۱۲۳۴۵۶۷۸۹",
    "Devanagari": "०१२३४५६७८९",
    "full width": "０１２３４５６７８９",
}
DECIMAL_SIGNS = {"Arabic": ".,٫", "Persian": ".,٫", "full width": ".,．，"}
UNIT_WORDS = {
    ListUnit.CM: [
        "cm",
        "CM",
        "cm.",
        "㎝",
        "centimètres",
        "Zentimeter",
        "см",
        "سم",
        "センチ",
        "厘米",
    ],
    ListUnit.MM: ["mm", "㎜", "millimetri", "мм", "ملم", "ミリ", "毫米"],
    ListUnit.M: ["m", "M", "m.", "mètres", "metri", "м", "متر", "メートル", "米"],
}
BLANKS = ["", " ", "  ", "\u00a0", "\u2009", "\u202f", "\u3000", "\u200f "]
PER_UNIT = {ListUnit.MM: 1, ListUnit.CM: 10, ListUnit.M: 1000}
rails_mm = st.integers(1_000, 3_000)


def decimal(mm: int, unit: ListUnit, sign: str) -> str:
    """The figure in that unit, without noughts at its end."""
    whole, rest = divmod(mm, PER_UNIT[unit])
    digits = str(PER_UNIT[unit] + rest)[1:].rstrip("0")
    return f"{whole}{sign}{digits}" if digits else str(whole)


@st.composite
def metric_notations(draw) -> tuple[str, int, ListUnit]:
    """A length as some club writes it, without its unit word."""
    mm, unit = draw(rails_mm), draw(st.sampled_from(list(PER_UNIT)))
    script = draw(st.sampled_from(list(SCRIPTS)))
    figure = decimal(mm, unit, draw(st.sampled_from(DECIMAL_SIGNS.get(script, ".,"))))
    return figure.translate(str.maketrans(SCRIPTS["Latin"], SCRIPTS[script])), mm, unit


class TestEveryLength:
    @given(metric_notations(), st.data())
    def test_with_its_unit_comes_back_exactly(self, written, data):
        """Whatever the unit, the script and the blanks, it is the millimetre that was meant."""
        figure, mm, unit = written
        word = data.draw(st.sampled_from(UNIT_WORDS[unit]))
        gap = data.draw(st.sampled_from(BLANKS))
        form = data.draw(st.sampled_from(["NFC", "NFD"]))
        text = unicodedata.normalize(form, f"{figure}{gap}{word}")
        read = read_value(text, CellKind.TEXT, Said("high_rail", kind="uneven_bars"))
        assert isinstance(read, Value), (text, read)
        assert (read.value_mm, read.unit, read.mark) == (mm, unit, None)

    @given(metric_notations(), st.sampled_from(BLANKS))
    def test_without_its_unit_comes_back_by_that_of_the_column(self, written, blank):
        """The header says the unit once for all."""
        figure, mm, unit = written
        said = Said("high_rail", unit, kind="uneven_bars")
        read = read_value(f"{blank}{figure}{blank}", CellKind.TEXT, said)
        assert isinstance(read, Value), (figure, read)
        assert read.value_mm == mm

    @given(st.integers(320, 944), st.data())
    def test_in_eighths_of_an_inch_comes_back_as_everywhere_in_the_desk(self, eighths, data):
        """A list and a form that say the same figure must not differ by a millimetre."""
        whole, rest = divmod(eighths, 8)
        part = Fraction(rest, 8)
        sign = {1: "⅛", 2: "¼", 3: "⅜", 4: "½", 5: "⅝", 6: "¾", 7: "⅞"}.get(rest, "")
        feet, inches = divmod(whole, 12)
        text = data.draw(
            st.sampled_from(
                [
                    f'{whole} {part}"' if part else f'{whole}"',
                    f"{whole}-{part} in" if part else f"{whole} in",
                    f"{whole}{sign} inches",
                    f"{whole + float(part):g} in",
                    f"{whole + float(part):g} Zoll".replace(".", ","),
                    f"{feet}' {inches}{sign}\"",
                    f"{feet} ft {inches} {part} in" if part else f"{feet}ft {inches}in",
                ]
            )
        )
        read = read_value(text, CellKind.TEXT, Said("high_rail", kind="uneven_bars"))
        as_typed = f"{whole} {part}" if part else str(whole)
        assert isinstance(read, Value), (text, read)
        assert read.value_mm == read_length_mm(as_typed, "high rail height", Unit.INCH)

    @given(rails_mm)
    def test_as_the_desk_writes_it_is_read_as_in_a_form(self, mm):
        """What the desk prints on its own lists comes in again unchanged."""
        said = Said("high_rail", ListUnit.CM, kind="uneven_bars")
        read = read_value(format_length(mm, Unit.CENTIMETRE), CellKind.TEXT, said)
        assert isinstance(read, Value)
        assert read.value_mm == mm


class TestEveryMark:
    @given(
        st.integers(1, 99),
        st.sampled_from(list(SCRIPTS.values())),
        st.sampled_from(
            ["Loch {}", "hole {}", "{}. dziura", "第{}穴", "ثقب {}", "trou n° {}", "{}"]
        ),
    )
    def test_comes_back_with_plain_digits(self, number, digits, pattern):
        """The label is looked up on the scale, which bears plain digits."""
        text = pattern.format(str(number).translate(str.maketrans("0123456789", digits)))
        read = read_value(text, CellKind.TEXT, Said("high_rail", ListUnit.MARK))
        assert isinstance(read, Value), (text, read)
        assert read.mark == str(number)


ALLOWED_WORDS = {"cm", "mm", "m", "in", "inch", "ab", "boden", "loch", "hole", "ft"}
NASTY = st.sampled_from([*"0123456789.,'\"-–/?~±<>=*+()[]#%&;:!|\\²½e ", "cm", "mm", "m", " in",
                         "ab Boden", "٢", "२", "\u200b", "\u202e", "\n", "\t", "\x00", "O", "l",
                         "Ι", "５", "⁄", "..", "''", "Loch", "x"])  # fmt: skip
SEEDS = st.sampled_from(["245,5 cm", "2.455 m", "2455 mm", '96 5/8"', "8' 0 5/8\"", "Loch 7", "245",
                         "2m45", "245 cm ab Boden", "٢٤٥", "２４５", "7"])  # fmt: skip


@st.composite
def mutated(draw) -> str:
    """A text that is read, with up to four places spoilt."""
    signs = list(draw(SEEDS))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(signs)))
        kept = draw(st.integers(0, 1))
        signs[at : at + 1 - kept] = [draw(NASTY)]
    return "".join(signs)


def plainly(text: str) -> str:
    """The text with plain digits and blanks, written without the reader's own tables."""
    text = unicodedata.normalize("NFKC", text.replace("½", " 1/2")).replace("\u200b", " ")
    digits = "".join(str(unicodedata.decimal(sign, sign)) for sign in text)
    return " ".join(digits.replace("\u2044", "/").replace("–", "-").split())


def can_be(text: str, read: Value) -> bool:
    """Whether the value follows from the text by the narrowest reading of the rules."""
    plain = plainly(text)
    words = set(re.findall(r"[^\W\d_]+", plain.casefold()))
    if (
        re.search(r"[?~±<>=*+%&;!|\\\[\]²]|\.\.|\d\s+\d(?!.*/)", plain)
        or not words <= ALLOWED_WORDS
    ):
        return False
    numbers = [
        Fraction(number.replace(",", ".")) for number in re.findall(r"\d+(?:[.,]\d+)?", plain)
    ]
    if read.mark is not None:
        figure = re.sub("[A-Da-d]$", "", read.mark)
        return re.findall(r"\d+(?:\.\d+)?", plain) == [figure]
    if read.unit is not ListUnit.INCH:
        if len(numbers) == 2:
            return numbers[0] * 1000 + numbers[1] * 10 == read.value_mm and "m" in plain
        return len(numbers) == 1 and numbers[0] * PER_UNIT[read.unit] == read.value_mm
    feet = re.match(r"(\d+) ?(?:'(?!')|ft)", plain)
    whole = [numbers.pop(0) * 12] if feet else []
    if "/" in plain:
        bottom, top = numbers.pop(), numbers.pop()
        whole.append(top / bottom)
    inches = sum(whole + numbers)
    return len(numbers) <= 1 and read.value_mm == round(inches * Fraction(127, 5))


class TestNothingElse:
    @settings(max_examples=600)
    @given(mutated(), st.sampled_from([None, *ListUnit]))
    @example("245 cm?", ListUnit.CM)
    @example("2\u202e54 cm", ListUnit.CM)
    @example("245\u200b5", ListUnit.MM)
    @example("245 cm..", None)
    @example("245,5e cm", ListUnit.CM)
    @example("2.45O m", None)
    @example("Loch ?7", None)
    @example("Loch 7e", None)
    @example("2m45cm+", None)
    def test_is_accepted_however_a_text_is_spoilt(self, text, unit):
        """A wrong number on a rail can hurt; a question about it cannot."""
        read = read_value(text, CellKind.TEXT, Said("high_rail", unit, kind="uneven_bars"))
        assert isinstance(read, Doubt) or can_be(text, read) or is_label(text, read, unit), read

    @given(st.text(max_size=40), st.sampled_from([None, *ListUnit]), st.sampled_from(CellKind))
    def test_breaks_the_reading(self, text, unit, kind):
        """One bad cell loses no other row."""
        read = read_value(text, kind, Said("high_rail", unit, kind="uneven_bars"))
        assert isinstance(read, Doubt) or read.value_mm is None or 1000 <= read.value_mm <= 3000

    @given(st.sampled_from(list(SCRIPTS.values())), st.integers(100, 299), st.integers(0, 2))
    def test_mixes_the_digits_of_two_scripts(self, digits, number, at):
        """No hand writes so; a text that does was put together wrongly."""
        text = list(str(number))
        text[at] = text[at].translate(str.maketrans("0123456789", digits))
        read = read_value("".join(text), CellKind.TEXT, Said("high_rail", ListUnit.CM))
        is_mixed = digits not in (SCRIPTS["Latin"], SCRIPTS["full width"])
        assert isinstance(read, Doubt) == is_mixed


def is_label(text: str, read: Value, unit: ListUnit | None) -> bool:
    """Whether the text is a label with a letter: alone in a column of marks, or after its word."""
    label = re.sub(r"^Loch\.? ", "", plainly(text))
    is_told = unit is ListUnit.MARK or label != plainly(text)
    return is_told and read.mark == label and bool(re.fullmatch(r"[^\W_]+(\.\d)?", label))
