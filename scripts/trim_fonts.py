"""Make the two faces that cards embed, from the DejaVu fonts of a Debian package.

Run with the folder that holds DejaVuSans.ttf and DejaVuSans-Bold.ttf, by default where
fonts-dejavu-core puts them. The result goes to settingsdesk/cards/fonts/ and is the same every
time for the same version of the fonts.
"""

import argparse
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

DEBIAN = Path("/usr/share/fonts/truetype/dejavu")
TARGET = Path(__file__).parent.parent / "settingsdesk" / "cards" / "fonts"
FACES = ("DejaVuSans", "DejaVuSans-Bold")

# What names, clubs, makes and remarks are written with. Arabic is drawn by the forms that its
# letters have where they are joined, which have code points of their own. Left out on purpose:
# other scripts that need shaping (a drawn string would be wrong) and marks of direction or joining,
# which nobody can see.
LETTERS = (
    (0x0020, 0x007E),  # basic Latin
    (0x00A0, 0x02AF),  # Latin with diacritics, phonetic letters used as letters
    (0x02B0, 0x036F),  # modifier letters, combining marks
    (0x0370, 0x03FF),  # Greek
    (0x0400, 0x052F),  # Cyrillic
    (0x060C, 0x066D),  # Arabic, for where it stands alone; its signs and figures
    (0x0671, 0x06D5),  # Arabic, letters of other languages
    (0x06F0, 0x06F9),  # Arabic, the figures of Persian and Urdu
    (0x1E00, 0x1EFF),  # Latin with diacritics, Vietnamese among them
    (0x1F00, 0x1FFF),  # Greek with breathings
    (0x2010, 0x2027),  # dashes, quotation marks, ellipsis
    (0x202F, 0x205E),  # per mille, primes, narrow spaces
    (0x2070, 0x209C),  # superscripts and subscripts
    (0x20A0, 0x20BF),  # currencies
    (0x2116, 0x2116),  # numero
    (0x2122, 0x2122),  # trade mark
    (0x2150, 0x215E),  # fractions of an inch
    (0x2190, 0x21FF),  # arrows
    (0x2205, 0x2205),  # empty set, written for a diameter where the sign is missing
    (0x2212, 0x2213),  # minus, minus-plus
    (0x221A, 0x221A),  # root
    (0x2220, 0x2225),  # angle, parallel
    (0x2248, 0x2248),  # almost equal
    (0x2260, 0x2265),  # comparisons
    (0x2300, 0x2300),  # diameter
    (0x25A0, 0x25FF),  # squares, triangles, circles
    (0x2713, 0x2718),  # ticks and crosses
    (0x2C60, 0x2C7F),  # Latin, rarer letters
    (0xA720, 0xA7FF),  # Latin, rarer letters
    (0xFB50, 0xFBFF),  # Arabic letters as they are joined, of other languages
    (0xFE70, 0xFEFC),  # Arabic letters as they are joined
)


def trimmed(source: Path) -> TTFont:
    """The face with no more than these letters, unhinted and without layout tables."""
    options = Options()
    options.hinting = False
    options.layout_features = []
    options.drop_tables += ["FFTM", "kern", "gasp"]
    options.glyph_names = False
    options.notdef_outline = True
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    font = TTFont(source, recalcTimestamp=False)
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=[c for first, last in LETTERS for c in range(first, last + 1)])
    subsetter.subset(font)
    return font


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", nargs="?", type=Path, default=DEBIAN, help="where the faces are")
    folder = asked.parse_args().folder
    for face in FACES:
        target = TARGET / f"{face}-Trimmed.ttf"
        trimmed(folder / f"{face}.ttf").save(target)
        print(f"{target.name}: {target.stat().st_size} bytes")


if __name__ == "__main__":
    main()
