"""Reports: one check as it was made, or the state of one apparatus, with all that a record holds.

DGUV Information 202-044, section 1: date and place; results and defects; whether further use is
doubted; re-checks needed; name, address and signature of who looked.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime

from settingsdesk.cards.report import Picture, Report, Section
from settingsdesk.desk.checks import checks, findings
from settingsdesk.desk.checks.checks import Care, Check, KeptAnswer
from settingsdesk.desk.checks.findings import Finding
from settingsdesk.desk.clock import today
from settingsdesk.desk.hall import apparatus as desk_apparatus
from settingsdesk.desk.hall import photos
from settingsdesk.desk.hall.apparatus import Piece
from settingsdesk.domain.base.days import day_in_words
from settingsdesk.domain.checks.checks import Answer, Due
from settingsdesk.store.work import ClubSession

CAUTIONS = (
    "The maker's instructions, the federation's and the local rules come first. Only trained"
    " people work on the apparatus. When in doubt, out of use."
)
MOST_PICTURES = 12


def of_check(session: ClubSession, check_id: int) -> Report:
    """One check, item by item; ``NotInThisClub`` where there is none."""
    check = checks.check(session, check_id)
    piece = desk_apparatus.piece(session, check.apparatus_id)
    told = check.told
    return Report(
        title=f"{check.occasion.words}: {piece.name}",
        made_on=told.made_on,
        facts=(
            ("Date", f"{day_in_words(told.made_on)}; recorded {moment_in_words(check.at)}"),
            ("Place", told.place),
            ("Apparatus", _named(piece)),
            ("Made by", told.made_by),
            ("Second check", told.second_by or "none: the check was made alone"),
            ("Further use", _doubt(check)),
            ("Re-checks needed", recheck_in_words(check)),
            ("Remark", told.remark),
        ),
        sections=(
            Section("Defects", tuple(map(_answer, check.faults)), "None was seen."),
            Section("Results, item by item", tuple(_result(answer) for answer in check.answers)),
        ),
        cautions=CAUTIONS,
        signed_by=told.made_by,
        address=told.address,
        pictures=tuple(
            _pictures(session, ((answer.photo_id, answer.words) for answer in check.answers))
        ),
    )


def of_apparatus(session: ClubSession, apparatus_id: int) -> Report:
    """What is wrong with an apparatus, for whoever comes to put it right."""
    piece = desk_apparatus.piece(session, apparatus_id)
    care = checks.cares(session, [piece])[0]
    found = findings.recent(session, apparatus_id=apparatus_id)
    left = [finding for finding in found if not finding.is_over]
    withdrawn = piece.withdrawal
    doubt = (
        f"out of use since {withdrawn.since_in_words}, by {withdrawn.by}"
        if withdrawn
        else "no objection: the apparatus is in use"
    )
    return Report(
        title=f"Report: {piece.name}",
        made_on=today(),
        facts=(
            ("Date", day_in_words(today())),
            ("Place", piece.place),
            ("Apparatus", _named(piece)),
            ("Further use", doubt),
            ("Re-checks needed", _rechecks(care)),
        ),
        sections=(
            Section("Defects", tuple(map(_defect, left)), "None is open."),
            Section("Results of the checks", tuple(map(_due, care.dues))),
            Section(
                "Released before",
                tuple(_defect(finding) for finding in found if finding.is_over),
                "Nothing is on record.",
            ),
        ),
        cautions=CAUTIONS,
        signed_by=session.by,
        address="",
        pictures=tuple(_pictures(session, _photos_of(left))),
    )


def moment_in_words(at: datetime) -> str:
    """A moment on this machine's clock: "24 November 2026, 14:05"."""
    here = at.astimezone()
    return f"{day_in_words(here.date())}, {here:%H:%M}"


def recheck_in_words(check: Check) -> str:
    """What has to be looked at again, and by when."""
    told = check.told
    if not told.recheck and told.recheck_on is None:
        return "none noted"
    by_then = f"by {day_in_words(told.recheck_on)}" if told.recheck_on else ""
    return ", ".join(filter(None, (told.recheck, by_then)))


def _named(piece: Piece) -> str:
    return f"{piece.name} ({piece.model.kind.name.lower()}, {piece.model.name})"


def _doubt(check: Check) -> str:
    return "out of use" if check.doubted else "no objection"


def _answer(answer: KeptAnswer) -> tuple[str, str]:
    return answer.words, f"{answer.answer.words}: {answer.remark}"


def _result(answer: KeptAnswer) -> tuple[str, str]:
    if answer.answer is not Answer.IN_ORDER:
        return answer.words, f"{answer.answer.words}: {answer.remark} [{answer.source}]"
    together = ", answered together with others" if answer.together else ""
    remark = f": {answer.remark}" if answer.remark else ""
    return answer.words, f"In order{together}{remark} [{answer.source}]"


def _defect(found: Finding) -> tuple[str, str]:
    life = "; ".join(
        f"{taken.step.words} {moment_in_words(taken.at)}, {taken.by}"
        + (f": {taken.remark}" if taken.remark else "")
        for taken in found.steps
    )
    return found.words, ("Keeps it out of use. " if found.keeps_out_of_use else "") + life


def _due(due: Due) -> tuple[str, str]:
    if due.made_on is None or due.due_on is None:
        return due.occasion.words, "never made"
    made, again = day_in_words(due.made_on), day_in_words(due.due_on)
    late = " (overdue)" if today() > due.due_on else ""
    return due.occasion.words, f"made on {made}, due again by {again}{late}"


def _rechecks(care: Care) -> str:
    told = [recheck.in_words for recheck in care.rechecks]
    if care.piece.withdrawal:
        told.append("the whole apparatus before it is released")
    return "; ".join(told) or "none noted"


def _photos_of(found: Iterable[Finding]) -> Iterator[tuple[int | None, str]]:
    for finding in found:
        for taken in finding.steps:
            yield taken.photo_id, f"{finding.words} ({taken.step.value})"


def _pictures(session: ClubSession, told: Iterable[tuple[int | None, str]]) -> Iterator[Picture]:
    numbered = [(number, words) for number, words in told if number is not None]
    shown = numbered[:MOST_PICTURES]
    found = photos.kept_photos(session, {number for number, _ in shown}) if shown else {}
    for number, words in shown:
        photo = found[number]
        yield Picture(photo.content, photo.width_px, photo.height_px, words)
