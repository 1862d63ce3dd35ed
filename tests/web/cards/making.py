"""Cards to look at: made on the page for it, or issued at the desk."""

from urllib.parse import urlsplit

from settingsdesk.desk.cards import issued as desk_issued
from settingsdesk.desk.cards.code_address import CodeKey
from settingsdesk.desk.rotations import rotation as desk_rotation
from settingsdesk.desk.squad import settings
from settingsdesk.domain.settings.settings import Setting, Wanted
from tests.conftest import DemoClub
from tests.web.pages import Page, Reader

ROOM = "/cards/1"


def girls(club: DemoClub, how_many: int) -> list[int]:
    with club.work() as session:
        return [member.id for member in desk_rotation.rotation(session, 1).listed[:how_many]]


def make(reader: Reader, athlete_ids: list[int], **typed: object) -> Page:
    """Make cards on the page for it; the page with the file comes back."""
    return reader.get(ROOM).send("Make the cards", who=[str(one) for one in athlete_ids], **typed)


def issue(club: DemoClub, *, with_club: bool = False) -> str:
    """A card for the first of the girls; the path that its symbol leads to."""
    code_key = CodeKey(club.data.card_key(), "http://127.0.0.1:5000")
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        ids = [view.listed[0].id]
        [card] = desk_issued.issue(session, code_key, view.piece.id, ids, with_club=with_club)
    return urlsplit(card.url).path


def change_spread(club: DemoClub, spread_mm: int, athlete: int = 0) -> None:
    with club.work(writes=True) as session:
        view = desk_rotation.rotation(session, 1)
        version = view.carried[view.piece.id][view.listed[athlete].id].version
        wanted = Setting(
            version.setting.kind, {**version.setting.axes, "spread": Wanted(spread_mm, 10)}
        )
        settings.keep_setting(session, version.athlete_id, version.model_id, wanted)


def issued_in_database(club: DemoClub) -> int:
    with club.store.installation(writes=False) as session:
        return session.connection().exec_driver_sql("select count(*) from card").scalar() or 0
