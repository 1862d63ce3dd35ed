"""Athletes who are alike in everything: whatever the order, they can change places."""

from settingsdesk.planner.problem import Problem


def twins(problem: Problem) -> dict[str, str | None]:
    """For each athlete the last one listed before who is alike; nobody whom a wish names."""
    apart = {*problem.wishes.named(), *problem.just_had}
    found: dict[str, str | None] = {}
    last: dict[object, str] = {}
    for entrant in problem.athletes:
        alike = (
            tuple(sorted(entrant.setups.items())),
            tuple(entrant.accepted(unit_id) for unit_id in sorted(entrant.setups)),
            entrant.turn_s,
            problem.turns_of(entrant),
        )
        found[entrant.id] = None if entrant.id in apart else last.get(alike)
        if entrant.id not in apart:
            last[alike] = entrant.id
    return found
