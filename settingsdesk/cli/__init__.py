"""The command line: the same use cases as the pages, for a terminal or a script."""

from importlib.metadata import version
from typing import Any

import click
from click.exceptions import NoArgsIsHelpError

from settingsdesk.cli.answers import Refused, in_one_line, show_what_can_be_shown
from settingsdesk.cli.apparatus import apparatus
from settingsdesk.cli.backups import backup_command, move_command, restore_command
from settingsdesk.cli.clubs import club, init_command
from settingsdesk.cli.coaches import coach
from settingsdesk.cli.conversion import convert
from settingsdesk.cli.demo import demo_command
from settingsdesk.cli.lists import export, import_command
from settingsdesk.cli.rotations import cards_command, order
from settingsdesk.cli.serving import serve
from settingsdesk.cli.upkeep import card_key, doctor, upgrade_command
from settingsdesk.domain.base.errors import SettingsDeskError


class _Commands(click.Group):
    """Every refusal becomes one line, in JSON where that was asked for."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        show_what_can_be_shown()
        try:
            return super().parse_args(ctx, args)
        except NoArgsIsHelpError:
            raise
        except click.UsageError as wrong:
            raise Refused(in_one_line(wrong)) from wrong

    def invoke(self, ctx: click.Context) -> Any:
        to_program = "--json" in ctx.args
        try:
            return super().invoke(ctx)
        except NoArgsIsHelpError:
            raise
        except SettingsDeskError as refusal:
            raise Refused(str(refusal), to_program=to_program) from refusal
        except click.UsageError as wrong:
            raise Refused(in_one_line(wrong), to_program=to_program) from wrong
        except Refused as refusal:
            raise Refused(refusal.message, to_program=to_program) from refusal


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(version("settingsdesk"), message="settingsdesk %(version)s")
@click.option(
    "--club",
    "club_name",
    metavar="NAME",
    envvar="SETTINGSDESK_CLUB",
    help="For which club, where several are here; SETTINGSDESK_CLUB names it too.",
)
@click.pass_context
def main(context: click.Context, club_name: str | None) -> None:
    """Rail settings for gymnasts: stored, converted, ordered, and printed for the apparatus.

    Everything is kept in the folder that SETTINGSDESK_DATA names, else in settingsdesk under
    XDG_DATA_HOME. The maker's instructions, the federation's and the local rules come first.
    """
    context.obj = club_name


for _command in (
    demo_command,
    serve,
    init_command,
    club,
    coach,
    doctor,
    backup_command,
    restore_command,
    move_command,
    card_key,
    upgrade_command,
    order,
    convert,
    apparatus,
    cards_command,
    import_command,
    export,
):
    main.add_command(_command)
