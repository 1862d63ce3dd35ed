"""The letters that may be installed beside our own: none, or faces of plain boxes for some of them.

So that no test depends on what is installed on its machine.
"""

import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen

from settingsdesk.cards import fit, languages, lettering
from settingsdesk.cards.lettering import Face

EM = 1000


def a_face(file: Path, characters: Iterable[str]) -> None:
    """An OpenType face with a box as wide as it is high for each character."""
    pen = T2CharStringPen(EM, None)
    corners = ((60, 0), (60, 880), (940, 880), (940, 0))
    pen.moveTo(corners[0])
    for corner in corners[1:]:
        pen.lineTo(corner)
    pen.closePath()
    box = pen.getCharString()
    names = {ord(sign): f"uni{ord(sign):04X}" for sign in sorted({*characters, " "})}
    order = [".notdef", *names.values()]
    made = FontBuilder(EM, isTTF=False)
    made.setupGlyphOrder(order)
    made.setupCharacterMap(names)
    made.setupCFF(file.stem, {"FullName": file.stem}, dict.fromkeys(order, box), {})
    made.setupHorizontalMetrics(dict.fromkeys(order, (EM, 60)))
    made.setupHorizontalHeader(ascent=880, descent=-120)
    made.setupNameTable({"familyName": file.stem, "styleName": "Regular"})
    made.setupOS2(sTypoAscender=880, sTypoDescender=-120, usWinAscent=880, usWinDescent=120)
    made.setupPost()
    made.save(file)


@contextmanager
def installed(
    patch: pytest.MonkeyPatch, folder: Path, characters: Iterable[str] = ()
) -> Iterator[None]:
    """Meanwhile there are faces with those characters beside ours; without any, there are none."""
    named = "beside" if characters else "nothing_beside"
    packages = {face: (f"{named}_{face.name.lower()}", "Letters.otf") for face in Face}
    if characters:
        for package, file in packages.values():
            (folder / package).mkdir()
            (folder / package / "__init__.py").touch()
            a_face(folder / package / file, characters)
        patch.syspath_prepend(folder)
    patch.setattr(lettering, "_INSTALLED", packages)
    forget()
    yield
    for package, _ in packages.values():
        sys.modules.pop(package, None)
    forget()


def forget() -> None:
    """What is known of letters and widths is found out anew."""
    for known in (
        lettering.lettered,
        lettering.advances,
        lettering._width,
        fit.fitted,
        languages.can_be_printed,
    ):
        known.cache_clear()
