"""Every version of an athlete's settings beside the one before it: what has changed."""

from collections.abc import Iterator
from dataclasses import dataclass

from settingsdesk.desk.squad import settings as desk_settings
from settingsdesk.desk.squad import still_right
from settingsdesk.desk.squad.settings import SettingVersion
from settingsdesk.desk.squad.still_right import Confirmation
from settingsdesk.domain.base.figures import length_in_words, most_in_words
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.settings.settings import Setting, Wanted
from settingsdesk.store.work import ClubSession


@dataclass(frozen=True, slots=True)
class Step:
    """One version, and in which lines it differs from the one before; all of the first one.

    ``confirmations`` are those of it as it stands, the newest first.
    """

    version: SettingVersion
    changes: tuple[str, ...]
    confirmations: tuple[Confirmation, ...]


def steps(session: ClubSession, athlete_id: int, unit: Unit) -> list[Step]:
    """Every version of every setting of an athlete, by model, the newest first."""
    versions = desk_settings.history(session, athlete_id)
    confirmed = still_right.confirmations_of(session, athlete_id)
    before = {
        (version.model_id, version.purpose, version.version + 1): version.setting
        for version in versions
    }
    return [
        Step(
            version,
            tuple(
                differences(
                    before.get((version.model_id, version.purpose, version.version)),
                    version.setting,
                    unit,
                )
            ),
            tuple(confirmed.get(version.id, ())),
        )
        for version in versions
    ]


def differences(before: Setting | None, now: Setting, unit: Unit) -> Iterator[str]:
    """What one setting has that the one before it had otherwise, axis by axis."""
    for axis in now.kind.axes:
        wanted = now.axes[axis.key]
        present = before.axes[axis.key] if before else None
        if present is None:
            yield f"{axis.name}: {told(wanted, unit)}"
        elif present != wanted:
            yield f"{axis.name}: {told(present, unit)} becomes {told(wanted, unit)}"


def told(wanted: Wanted, unit: Unit) -> str:
    """A wish in one phrase: "245.0 cm ± 1.0 cm, matters 3"; an axis usually matters 1."""
    accepts = f" ± {most_in_words(wanted.accepts_mm, unit)}" if wanted.accepts_mm else ""
    matters = f", matters {wanted.weight}" if wanted.weight != 1 else ""
    return f"{length_in_words(wanted.wanted_mm, unit)}{accepts}{matters}"
