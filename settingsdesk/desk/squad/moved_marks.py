"""Which marks another setting moves on an apparatus, also those of adjustments it leaves alone.

A setting is lengths, and the marks are those that come nearest to all of them together: where one
length is changed, the nearest marks of the others may be others too, by as much as a whole hole.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.hall.models import Axis
from settingsdesk.domain.settings.settings import Setting
from settingsdesk.domain.settings.transfer import Fit, transfer


@dataclass(frozen=True, slots=True)
class MarkMoved:
    """One axis at an apparatus: the stops before and now; ``before`` is None where there was none.

    ``asked`` says that its length was changed.
    """

    axis: Axis
    before: int | None
    now: int
    asked: bool

    @property
    def moves(self) -> bool:
        """Whether the crew will move it."""
        return self.before not in (None, self.now)

    @property
    def before_label(self) -> str:
        """The mark before; empty where there was none."""
        return "" if self.before is None else self.axis.scale.label(self.before)

    @property
    def now_label(self) -> str:
        """The mark now."""
        return self.axis.scale.label(self.now)


@dataclass(frozen=True, slots=True)
class MarksThere:
    """A setting on one apparatus: its closest marks, and which of them are others than before."""

    piece: Piece
    fit: Fit
    marks: Mapping[str, MarkMoved]

    @property
    def unasked(self) -> tuple[MarkMoved, ...]:
        """The marks that move though their length stays."""
        return tuple(one for one in self.marks.values() if one.moves and not one.asked)


def marks_there(before: Setting | None, now: Setting, pieces: Sequence[Piece]) -> list[MarksThere]:
    """What of each apparatus is moved once ``now`` counts instead of ``before``."""
    return [_there(before, now, piece) for piece in pieces]


def _there(before: Setting | None, now: Setting, piece: Piece) -> MarksThere:
    fit = transfer(now, piece.model).best
    old = transfer(before, piece.model).best.setup if before is not None else None
    return MarksThere(
        piece,
        fit,
        {
            axis.key: MarkMoved(
                axis,
                None if old is None else old[place],
                fit.setup[place],
                before is None or before.axes[axis.key].wanted_mm != now.axes[axis.key].wanted_mm,
            )
            for place, axis in enumerate(piece.model.axes)
        },
    )
