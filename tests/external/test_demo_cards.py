"""Every card of the demo, printed, rendered, and read by a reader that is not ours.

Source of the sizes: ISO/IEC 7810 ID-1 and ISO 216 A6, in tests/external/test_cards_sizes.py; the
reader is zxing-cpp, the renderer PDFium.
"""

import pytest

from settingsdesk.cards.pdf import Size
from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.rotations import rotation as desk_rotation
from tests.cards.reading import symbols
from tests.cards.samples import as_pdf
from tests.conftest import DemoClub
from tests.desk.cards.scanning import scanned

CODE_KEY = CodeKey(b"k" * 32, "http://192.168.100.100:5000")


class TestTheCardsOfTheDemo:
    @pytest.mark.parametrize("size", list(Size))
    def test_every_code_is_read_from_the_page_and_opens_its_card(
        self, demo_club: DemoClub, size: Size
    ) -> None:
        issued = []
        with demo_club.work(writes=True) as session:
            for line in desk_rotation.recent(session):
                view = desk_rotation.rotation(session, line.id)
                ids = [member.id for member in view.listed]
                issued += desk_issued.issue(session, CODE_KEY, view.piece.id, ids)
        read = symbols(as_pdf(issued, size), 200)

        assert sorted(read) == sorted(f"{card.url}/{card.line}" for card in issued)
        assert len(read) == 20
        for card in issued:
            seen = scanned(demo_club, card.url.rsplit("/", 1)[1])
            assert seen.current
            assert seen.now.lines == card.lines
