"""Athletes who are alike in everything: whatever the order, they can change places."""

from settingsdesk.planner.problem import Problem


def twins(problem: Problem) -> dict[str, str | None]:
    """For each athlete the last one listed before who is alike; nobody whom a wish names."""
    apart = {*problem.wishes.named(), *problem.just_had}
    found: dict[str, str | None] = {}
    last: dict[object, str] = {}
    for one in problem.athletes:
        alike = (
            tuple(sorted(one.setups.items())),
            tuple(one.accepted(unit_id) for unit_id in sorted(one.setups)),
            one.turn_s,
            problem.turns_of(one),
        )
        found[one.id] = None if one.id in apart else last.get(alike)
        if one.id not in apart:
            last[alike] = one.id
    return found
