"""A meet of eight clubs and 96 athletes, from the lists as they came to cards that can be read."""

from collections import Counter

from settingsdesk.cards.pdf import Size, cards_pdf
from settingsdesk.desk.hall import apparatus
from settingsdesk.desk.lists import coach_lists
from settingsdesk.desk.lists.destinations import MeetEntries
from settingsdesk.desk.meet_day import cards as desk_cards
from settingsdesk.desk.meet_day import transfers as desk_transfers
from settingsdesk.desk.meet_day.cards import Choice, Grouping
from settingsdesk.desk.meets import entries, meets, start_orders
from settingsdesk.desk.meets.meets import MeetFacts
from settingsdesk.domain.settings.card import CardGroup
from settingsdesk.words.language import ENGLISH
from tests.cards.reading import symbols
from tests.conftest import DemoClub
from tests.desk.cards.scanning import scanned
from tests.desk.sample_meet import BARS, CODE_KEY, DAY
from tests.sheets.meet_files import MAKERS


def take_in(club: DemoClub, meet_id: int, *, settled: bool) -> int:
    """Every club's lists, as they came or as they were corrected; how many cells are queried."""
    queried = 0
    for make in MAKERS:
        made = make(settled)
        with club.work(writes=True) as session:
            taker = MeetEntries(session, meet_id)
            seen = coach_lists.look(session, taker, made.content, made.name, made.club, 10)
            coach_lists.take(session, taker, seen)
            queried += len(seen.preview.queries)
    return queried


def test_from_ten_lists_to_ninety_six_cards_whose_codes_open(demo_club: DemoClub) -> None:
    with demo_club.work(writes=True) as session:
        facts = MeetFacts("Lantern Cup", "Main hall", DAY, DAY, MeetFacts.usual_end_of_cards(DAY))
        meet = meets.add_meet(session, facts)
        part = meets.add_session(session, meet.id, "Juniors", DAY)
        bars = next(one for one in apparatus.all_pieces(session) if one.name == BARS)
        beam = next(
            one for one in apparatus.all_pieces(session) if one.model.kind.key == "balance_beam"
        )
        meets.put_apparatus(session, meet.id, bars.id, "International, as quoted")
        meet = meets.put_apparatus(session, meet.id, beam.id)

    # As they came: everybody is entered, and what is in doubt is left to settle; of ten heights
    # it is only said that they lie half-way between two marks.
    assert take_in(demo_club, meet.id, settled=False) == 14 + 10
    with demo_club.work() as session:
        entrants = entries.entrants(session, meet.id)
        first = desk_transfers.transfers(session, desk_transfers.grounds(session, meet))
    assert Counter(one.from_club for one in entrants) == {make(True).club: 12 for make in MAKERS}
    assert first.nowhere
    whole = {line.entrant.entry_id for line in first.lines if line.stands.piece.id == bars.id}
    assert len(whole) == 96 - 11

    # The clubs send what was asked: nobody is entered twice, and everybody has a setting.
    take_in(demo_club, meet.id, settled=True)
    with demo_club.work(writes=True) as session:
        assert len(entries.entrants(session, meet.id)) == 96
        found = desk_transfers.transfers(session, desk_transfers.grounds(session, meet))
        assert not found.nowhere
        assert sum(line.stands.piece.id == bars.id for line in found.lines) == 96
        ids = [one.member.id for one in entries.entrants(session, meet.id)]
        for number in range(4):
            listed = ids[number * 24 : number * 24 + 24]
            start_orders.draw(session, start_orders.Place(part.id, number + 1, bars.id), listed)
        choice = Choice(Grouping.BY_START, apparatus_ids=(bars.id,))
        made = desk_cards.issue(session, CODE_KEY, meet.id, choice)
    assert made.left_out == ()
    assert [len(some) for _, some in made.groups] == [24] * 4

    pdf = cards_pdf([CardGroup(some, heading) for heading, some in made.groups], Size.ID1, ENGLISH)
    codes = symbols(pdf, 200)
    printed = [card for _, some in made.groups for card in some]
    assert sorted(codes) == sorted(f"{card.url}/{card.line}" for card in printed)
    for card in printed[::12]:
        seen = scanned(demo_club, card.url.rpartition("/")[2])
        assert (seen.name, seen.current) == (card.name, True)
