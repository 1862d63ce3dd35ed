"""The line of lengths: what an athlete wants, in digits that any hall's desk reads.

Printed on a card and carried in its symbol, it needs no word from the desk that printed it. Digits
alone, since none of them is taken for a letter where there are no letters, and every keyboard and
reader types them. In this order:

* the form of the line, 1; another form begins with another digit
* the kind of apparatus, see ``SIGNS``
* the wanted length on each of its axes, in the order of the kind, in whole millimetres: four digits
  each, five of a distance along the floor
* two check digits, ISO/IEC 7064 MOD 97-10 of all that stands before them

Every length is canonical: a height from the floor to the rail's upper edge (of rings, to their
lower inner side; of what has no rail, to its upper surface), a spread the shortest inner distance.
The check finds every mistyped digit, every two that have changed places, and all but one in a
hundred of anything else.
"""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from settingsdesk.domain.base.codes import SHORT_CODE_LENGTH, plain_signs
from settingsdesk.domain.base.errors import SettingsDeskError
from settingsdesk.domain.base.kinds import KINDS, AxisKind, Kind, Quantity
from settingsdesk.domain.base.sentences import Sentence, Series
from settingsdesk.domain.settings.settings import NotALength, RailsInWrongOrder, Setting, Wanted

FORM = "1"
"""The first digit of every line that this desk prints and reads."""

SIGNS: Mapping[str, str] = {
    "uneven_bars": "1",
    "parallel_bars": "2",
    "horizontal_bar": "3",
    "rings": "4",
    "pommel_horse": "5",
    "balance_beam": "6",
    "vault_table": "7",
}
"""The second digit, by the key of the kind. It stands on paper: none is ever given to another."""

_KINDS = {sign: KINDS[key] for key, sign in SIGNS.items()}
_CHECKS = 2
_MOST_SUSPECTS = 4
"""With more digits to look at first, one might as well look at all of them."""


def check_mod_97_10(digits: str) -> str:
    """The two check digits of ISO/IEC 7064 MOD 97-10, from 02 to 98."""
    return f"{98 - int(digits) * 100 % 97:02}"


def line_of(setting: Setting) -> str:
    """The line of a setting, without gaps; empty where a length has more digits than its place."""
    lengths = [f"{setting.axes[axis.key].wanted_mm:0{_room(axis)}}" for axis in setting.kind.axes]
    body = "".join((FORM, SIGNS[setting.kind.key], *lengths))
    return body + check_mod_97_10(body) if len(body) + _CHECKS == _length(setting.kind) else ""


def in_groups(line: str) -> str:
    """A line as it is printed, each length by itself, in one word: "11-1700-2500-1650-32"."""
    kind = _KINDS[line[1]]
    ends = [2]
    for axis in kind.axes:
        ends.append(ends[-1] + _room(axis))
    return "-".join(line[start:end] for start, end in pairwise([0, *ends, len(line)]))


def is_a_line(typed: str) -> bool:
    """Whether that is meant as a line, right or mistyped, and not as a code.

    No code has a digit 1; of as many signs as a short code has, only that is a line.
    """
    signs = plain_signs(typed)
    if signs[:1] == [FORM]:
        return True
    digits = sum(sign.isdecimal() for sign in signs)
    return len(signs) != SHORT_CODE_LENGTH and 4 * digits > 3 * len(signs)


def read_line(typed: str) -> Setting:
    """The setting that somebody typed as a line, with no word of what is accepted.

    Gaps, hyphens and digits of other scripts are understood. Raises ``SignInNoLine``,
    ``DigitCannotBeRight``, ``LineLength``, ``LineDoesNotFit``, or ``NewerLine``.
    """
    signs = plain_signs(typed)
    for position, sign in enumerate(signs, start=1):
        if not sign.isdecimal():
            raise SignInNoLine(sign, position)
    line = "".join(str(int(sign)) for sign in signs)
    kind = _kind_told(line)
    if len(line) != _length(kind):
        raise LineLength(kind, _length(kind), len(line))
    setting = _setting(line, kind)
    if setting is None:
        _must_be_believed(line, kind)
        raise LineDoesNotFit(in_groups(line), _suspects(line, kind))
    return setting


def _room(axis: AxisKind) -> int:
    """How many digits a length of it has."""
    return 5 if axis.quantity is Quantity.DISTANCE else 4


def _length(kind: Kind) -> int:
    return len(FORM) + 1 + sum(map(_room, kind.axes)) + _CHECKS


def _fits(line: str) -> bool:
    body, check = line[:-_CHECKS], line[-_CHECKS:]
    return bool(body) and check_mod_97_10(body) == check


def _kind_told(line: str) -> Kind:
    told = line[:1] == FORM, line[1:2] in _KINDS
    if all(told):
        return _KINDS[line[1]]
    if _fits(line) and len(line) > 2 + _CHECKS:
        raise NewerLine
    if not told[0] and line:
        raise DigitCannotBeRight(1, Sentence("every line begins with %(digit)s", digit=FORM))
    raise DigitCannotBeRight(2, Sentence("it tells the apparatus, by a digit from 1 to 7"))


def _lengths(line: str, kind: Kind) -> Iterator[tuple[AxisKind, int, str]]:
    """Each axis with where its digits begin, and its digits."""
    start = len(FORM) + 1
    for axis in kind.axes:
        yield axis, start, line[start : start + _room(axis)]
        start += _room(axis)


def _setting(line: str, kind: Kind) -> Setting | None:
    """What a line of the right length says; None where its check digits or its rails do not fit."""
    if not _fits(line):
        return None
    try:
        return Setting(kind, {axis.key: Wanted(int(mm)) for axis, _, mm in _lengths(line, kind)})
    except (RailsInWrongOrder, NotALength):
        return None


def _must_be_believed(line: str, kind: Kind) -> None:
    """Name the first digits of a length that let it lie nowhere but outside what is believed."""
    for axis, start, digits in _lengths(line, kind):
        for count in range(1, len(digits) + 1):
            tail = len(digits) - count
            least, most = int(digits[:count] + "0" * tail), int(digits[:count] + "9" * tail)
            if most < axis.believed.least_mm or least > axis.believed.most_mm:
                why = Sentence(
                    "the %(axis)s lies between %(least)s and %(most)s mm",
                    axis=axis.in_a_sentence,
                    least=axis.believed.least_mm,
                    most=axis.believed.most_mm,
                )
                raise DigitCannotBeRight(start + count, why, start + 1)


def _suspects(line: str, kind: Kind) -> tuple[int, ...]:
    """Which places, from 1, one mistyped digit or one swap may have spoilt; empty where many."""
    found: set[int] = set()
    for place, digit in enumerate(line):
        others = (line[:place] + other + line[place + 1 :] for other in "0123456789")
        if any(other != line and _is_believed(other, kind) for other in others):
            found.add(place + 1)
        swapped = line[:place] + line[place + 1 : place + 2] + digit + line[place + 2 :]
        if swapped != line and _is_believed(swapped, kind):
            found |= {place + 1, place + 2}
    return tuple(sorted(found)) if len(found) <= _MOST_SUSPECTS else ()


def _is_believed(line: str, kind: Kind) -> bool:
    return (
        line[:2] == FORM + SIGNS[kind.key]
        and _setting(line, kind) is not None
        and all(axis.believed.holds(int(mm)) for axis, _, mm in _lengths(line, kind))
    )


class LineRefused(SettingsDeskError):
    """Base of what is wrong with a line of lengths that was typed or read."""


class SignInNoLine(LineRefused):
    """A sign that is no digit; ``position`` counts from 1, without gaps."""

    def __init__(self, sign: str, position: int) -> None:
        self.sign, self.position = sign, position

    def __str__(self) -> str:
        return Sentence(
            "Sign %(position)s is “%(sign)s”, and that cannot be right: this line has nothing but"
            " digits. Compare it with what is printed",
            position=self.position,
            sign=self.sign,
        )


class DigitCannotBeRight(LineRefused):
    """A digit that no line has there, or the first digits of a length from ``first`` on."""

    def __init__(self, position: int, why: Sentence, first: int | None = None) -> None:
        self.position, self.why, self.first = position, why, first or position

    def __str__(self) -> str:
        if self.first < self.position:
            return Sentence(
                "Digits %(first)s to %(position)s cannot be right: %(why)s. Compare them with what"
                " is printed",
                first=self.first,
                position=self.position,
                why=self.why,
            )
        return Sentence(
            "Digit %(position)s cannot be right: %(why)s. Compare it with what is printed",
            position=self.position,
            why=self.why,
        )


class LineLength(LineRefused):
    """Too few digits, or too many, for the apparatus that the second one tells."""

    def __init__(self, kind: Kind, wanted: int, given: int) -> None:
        self.kind, self.wanted, self.given = kind, wanted, given

    def __str__(self) -> str:
        return Sentence(
            "A line for %(kind)s has %(wanted)s digits; %(given)s were typed. Compare it with what"
            " is printed, group by group",
            kind=self.kind.in_a_sentence,
            wanted=self.wanted,
            given=self.given,
        )


class LineDoesNotFit(LineRefused):
    """The check digits do not fit the others; ``suspects`` are the places to look at first."""

    def __init__(self, line: str, suspects: tuple[int, ...]) -> None:
        self.line, self.suspects = line, suspects

    def __str__(self) -> str:
        if not self.suspects:
            return Sentence(
                "%(line)s cannot be right: its last two digits do not fit the others. Compare it"
                " with what is printed, digit by digit",
                line=self.line,
            )
        return Sentence(
            "%(line)s cannot be right: its last two digits do not fit the others. Compare it with"
            " what is printed, digit by digit; look first at digit %(places)s",
            line=self.line,
            places=Series([str(place) for place in self.suspects], "or"),
        )


class NewerLine(LineRefused):
    """A line whose check digits fit, of a form or a kind of apparatus that is not known here."""

    sentence = Sentence(
        "This line is of a newer form than this desk reads. Use the centimetres that are printed,"
        " and tell whoever looks after this desk"
    )
