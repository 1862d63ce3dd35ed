"""What the rotation of a start order is called, and on which day it is: as its session has it."""

from settingsdesk.store import meets as kept_meets
from settingsdesk.store import rotations as kept_rotations
from settingsdesk.store.work import ClubSession


def order_name(meet: str, session_number: int, number: int, apparatus: str) -> str:
    """ "Lantern Cup, session 1, rotation 2, Bars by the window"."""
    return f"{meet}, session {session_number}, rotation {number}, {apparatus}"


def follow(session: ClubSession, row: kept_meets.Meet) -> None:
    """Let the rotations of a meet's start orders follow its name and its sessions' days."""
    parts = {part.id: part for part in row.sessions}
    for order in kept_rotations.start_orders(session, parts):
        part, rotation = parts[order.session_id], order.rotation
        rotation.held_on = part.held_on
        rotation.name = order_name(row.name, part.number, order.number, rotation.apparatus.name)
