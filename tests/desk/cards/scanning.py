"""A card's code scanned, by whoever holds the card."""

from settingsdesk.desk.cards import issued
from settingsdesk.desk.cards.issued import ScannedCard
from tests.conftest import DemoClub


def scanned(club: DemoClub, code: str, apparatus_id: int | None = None) -> ScannedCard:
    """What its page says; ``NoSuchCard`` where it opens none."""
    holder = issued.holder_of(club.store, code)
    with club.store.work(holder.club_id, writes=False) as session:
        return issued.scanned(session, holder.card_id, apparatus_id)
