"""What a way of solving brings back."""

from dataclasses import dataclass

from settingsdesk.planner.plan import Plan


@dataclass(frozen=True, slots=True)
class Answer:
    """The best plan known, a proven bound on the goal, and whether nothing better exists.

    ``plan`` is None where none was found; with ``proven`` there is none. ``spent_s`` is the work
    that it took; None where nobody counts it, and all that was given may be spent.
    """

    plan: Plan | None
    bound_s: int
    proven: bool
    spent_s: float | None = None
