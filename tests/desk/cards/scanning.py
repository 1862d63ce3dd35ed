"""A card's code scanned, by whoever holds the card."""

from settingsdesk.desk.cards import in_hand
from settingsdesk.desk.cards.in_hand import ScannedCard
from tests.conftest import DemoClub


def scanned(club: DemoClub, code: str, apparatus_id: int | None = None) -> ScannedCard:
    """What its page says; ``NoSuchCard`` where it opens none."""
    holder = in_hand.holder_of(club.store, code)
    with club.store.work(holder.club_id, writes=False) as session:
        return in_hand.scanned(session, holder.card_id, apparatus_id)
