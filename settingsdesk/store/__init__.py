"""How it is kept: tables, one session per unit of work, migrations.

The modules with tables are imported here, so that whoever uses one of them has them all, and
with them the rule that keeps records final.
"""

from settingsdesk.store import (
    apparatus,
    apparatus_models,
    append_only,
    athletes,
    card_keys,
    card_remarks,
    cards,
    checks,
    clubs,
    findings,
    growth,
    guest_clubs,
    left_out,
    list_mappings,
    meets,
    parts,
    record,
    rotations,
    rule_books,
    runs,
    settings,
    sign_ins,
    stations,
)

__all__ = [
    "apparatus",
    "apparatus_models",
    "append_only",
    "athletes",
    "card_keys",
    "card_remarks",
    "cards",
    "checks",
    "clubs",
    "findings",
    "growth",
    "guest_clubs",
    "left_out",
    "list_mappings",
    "meets",
    "parts",
    "record",
    "rotations",
    "rule_books",
    "runs",
    "settings",
    "sign_ins",
    "stations",
]
