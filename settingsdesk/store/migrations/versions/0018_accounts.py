"""Accounts, what each may do in which club, and links that invite."""

import sqlalchemy as sa
from alembic import op

from settingsdesk.store.migrations.columns import club, index, moment, number, whole, words

revision = "0018"
down_revision = "0017"

ROLES = "role IN ('owner', 'coach', 'helper')"


def upgrade() -> None:
    """Make an account and a membership of each coach; the first coach of a club is its owner.

    Somebody has to be, or nobody could let anybody in; who was added first set the desk up.
    Nobody is signed out.
    """
    _accounts()
    _memberships()
    before = _columns("sign_in", "id", "club_id", "coach_id", "stamp_hash", "began_at")
    signed_in = op.get_bind().execute(sa.select(before)).all()
    op.drop_table("sign_in")
    _sign_ins()
    now = _columns(
        "sign_in", "id", "club_id", "account_id", "stamp_hash", "began_at", "seen_at", "device"
    )
    for row in signed_in:
        op.execute(now.insert().values([*row, row.began_at, ""]))
    op.drop_table("coach")
    _invitations()


def _accounts() -> None:
    op.create_table(
        "account",
        number(),
        words("sign_in_name"),
        words("password_hash"),
        moment("created_at"),
        sa.UniqueConstraint("sign_in_name"),
    )
    op.execute(
        "INSERT INTO account (id, sign_in_name, password_hash, created_at)"
        " SELECT id, sign_in_name, password_hash, created_at FROM coach"
    )


def _memberships() -> None:
    op.create_table(
        "membership",
        number(),
        *club(),
        *_of_account(),
        words("role"),
        words("shown_name"),
        moment("created_at"),
        sa.Column("disabled_at", sa.DateTime(timezone=True)),
        sa.UniqueConstraint("club_id", "id"),
        sa.UniqueConstraint("club_id", "account_id"),
        sa.CheckConstraint(ROLES, name="role"),
    )
    index("membership", "account_id")
    op.execute(
        "INSERT INTO membership (id, club_id, account_id, role, shown_name, created_at)"
        " SELECT id, club_id, id, CASE WHEN id = (SELECT min(first.id) FROM coach AS first"
        " WHERE first.club_id = coach.club_id) THEN 'owner' ELSE 'coach' END,"
        " shown_name, created_at FROM coach"
    )


def _sign_ins() -> None:
    op.create_table(
        "sign_in",
        number(),
        *club(),
        whole("account_id"),
        words("stamp_hash"),
        moment("began_at"),
        moment("seen_at"),
        words("device"),
        sa.ForeignKeyConstraint(
            ["club_id", "account_id"],
            ["membership.club_id", "membership.account_id"],
            ondelete="RESTRICT",
        ),
        sa.UniqueConstraint("stamp_hash"),
    )
    index("sign_in", "club_id", "account_id")


def _invitations() -> None:
    op.create_table(
        "invitation",
        number(),
        *club(),
        words("role"),
        words("shown_name"),
        words("code_hash"),
        moment("made_at"),
        words("made_by"),
        moment("until"),
        sa.Column("used_at", sa.DateTime(timezone=True)),
        sa.Column("membership_id", sa.Integer()),
        sa.ForeignKeyConstraint(
            ["club_id", "membership_id"],
            ["membership.club_id", "membership.id"],
            ondelete="RESTRICT",
        ),
        sa.UniqueConstraint("code_hash"),
        sa.CheckConstraint(ROLES, name="role"),
    )
    index("invitation", "club_id", "membership_id")


def _columns(table: str, *names: str) -> sa.TableClause:
    """A table as it is at this moment."""
    return sa.table(table, *(sa.column(name) for name in names))


def _of_account() -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    return (
        whole("account_id"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], ondelete="RESTRICT"),
    )
