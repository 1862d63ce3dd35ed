"""What became of settings that were typed as marks, once their scale is told otherwise."""

from flask import flash

from settingsdesk.desk.squad.typed_marks import Kept
from settingsdesk.web.frame.fields import TickField

MOST_NAMED = 12


def marks_field() -> TickField:
    """Whether those of one apparatus keep their marks."""
    return TickField("Settings that were typed as marks of it keep them", default=True)


def tell_kept(kept: Kept) -> None:
    """Say on the next page how many keep their marks, and whose could not."""
    if kept.count:
        keep = "setting keeps its" if kept.count == 1 else "settings keep their"
        flash(f"{kept.count} {keep} marks; the lengths were worked out again.")
    if kept.left:
        names = "; ".join(kept.left[:MOST_NAMED])
        more = f" and {len(kept.left) - MOST_NAMED} more" if len(kept.left) > MOST_NAMED else ""
        flash(
            f"The marks of {names}{more} could not be read on the scale as it is now: their lengths"
            " stay as they were. Look at them before anybody is set by them."
        )
