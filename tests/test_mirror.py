"""Who looks for the test of a module finds it: by its path, by its room, or in one short list."""

from collections.abc import Iterator
from pathlib import Path

from tests.test_layers import PACKAGE, TESTS, imports

TESTED_IN = {
    # What is drawn is read back from the finished file.
    "cards/test_pdf.py": ("cards: a6 paper pen plate small_table tags; domain/settings: card"),
    "cards/test_report.py": "cards: table",
    # What is offered and refused is tried where somebody does it.
    "desk/accounts/test_passwords.py": "desk/accounts: hall_words",
    "desk/lists/test_coach_lists.py": "desk/lists: listed_people; store: left_out",
    "desk/squad/test_setting_drafts.py": "store: setting_drafts",
    "desk/squad/test_still_right.py": "store: growth still_right",
    "desk/squad/test_crew_notes.py": "domain/settings: crew_note; store: crew_notes",
    "web/accounts/test_accounts.py": "web/frame: known_device",
    "web/accounts/test_people.py": "web/accounts: invitation",
    "web/lists/test_coach_lists.py": "desk/meets: unsettled_lines; web/frame: done",
    "web/lists/test_squad_lists.py": "desk/lists: near_names",
    "desk/meets/test_erasing.py": "store: erased_numbers photos_taken",
    "desk/meets/test_guest_clubs.py": "store: guest_clubs",
    "desk/meets/test_kept_about.py": "store: of_one_athlete",
    "web/meets/test_meets.py": "domain/base: days; web/meet_day: cards",
    "web/lists/test_own_table.py": "desk/lists: own_table; web/lists: list_columns",
    "desk/meets/test_entries.py": "desk/meets: raise_requests",
    "desk/meets/test_start_orders.py": "desk/meets: called order_names",
    "desk/meets/test_typed_orders.py": "desk/meets: entrant_match",
    "desk/rotations/test_rotation.py": "desk/rotations: problem",
    "desk/runs/test_run.py": "desk/runs: events outcome",
    "desk/stations/test_at_station.py": "desk/runs: first_check",
    "desk/stations/test_card_verdict.py": "desk/stations: listed",
    "web/hall/test_starters.py": "web/hall: first_times; web/squad: several",
    "cli/test_lists.py": "desk/terminal: as_json as_text",
    "cli/test_serving.py": ": __main__",
    # A rule of the planner is tried in the plans that it helps to find, against every order.
    "planner/test_brute_force.py": "planner: matrix nearest twins; planner/ways: in_rounds",
    "planner/test_solve.py": "planner: conflicts",
    "planner/test_bounds.py": ("planner/bounds: crowded disjoint entries once_more shares tree"),
    # What a workbook or a list says is read by one way in.
    "sheets/test_xlsx_reading.py": "sheets: beside_xml number_formats sheet_xml styles xml_parts",
    "sheets/test_csv_reading.py": "sheets: encodings",
    "sheets/test_squad_writing.py": "sheets: squad_help",
    "sheets/lists/test_layouts.py": (
        "sheets/lists: blanks blocks column_units found grid known_models layout long_rows marked"
        " notes persons row_apparatus same_axis untold_units"
    ),
    "sheets/lists/test_values.py": (
        "sheets/lists: values_datums values_doubts values_figures values_text"
    ),
    "store/migrations/test_versions.py": "store/migrations: columns env",
    # A form is tried on its page.
    "web/checks/test_checks.py": (
        "store: checks; web/checks: check_lists parts; web/frame: photo_fields"
    ),
    "web/hall/test_mark_photos.py": "store: mark_photos",
    "web/hall/test_models.py": "web/hall: model_form scale_fields",
    "web/hall/test_calibrations.py": "web/hall: kept_marks tape_form",
    "web/hall/test_conversions.py": "web/hall: conversion_form",
    "web/squad/test_setting_pages.py": "web/frame: axis_fields; web/squad: setting_forms",
    "web/squad/test_erasing.py": "web/squad: kept keeping what_is_kept",
    "web/rotations/test_making_rotations.py": "web/squad: choosing",
    "web/lists/test_sheets.py": "web/frame: sent_in",
    "web/frame/test_security.py": "web/frame: sessions",
    "web/frame/test_fields.py": "web/frame: forms",
    "web/frame/test_hosts.py": "web/frame: bare_page",
    "web/cards/test_remarks.py": "store: card_remarks",
    "browser/test_frame.py": "web/frame: help_page",
    # What a day, a drawing or a move of the domain is shows in what is made of it.
    "web/frame/test_svg.py": "domain/base: drawing",
    "domain/changeover/test_changeover.py": "domain/changeover: moves",
    "domain/settings/test_transfer.py": "domain/settings: pair_search",
}
"""Where a module is tested that has no test of its name and is named in none of its room."""


def modules() -> Iterator[Path]:
    """Every module of ours by its path in the package; a revision of the tables is none."""
    for file in PACKAGE.rglob("*.py"):
        module = file.relative_to(PACKAGE)
        if file.name != "__init__.py" and module.parent.name != "versions":
            yield module


def named_in_its_room(module: Path) -> bool:
    """Whether a test that stands where the module does, or over it, takes something of it."""
    dotted = ".".join(("settingsdesk", *module.with_suffix("").parts))
    rooms = [room for room in (module.parent, *module.parent.parents) if room != Path()]
    files = [file for room in rooms for file in (TESTS / room).glob("test_*.py")]
    return any(
        dotted in {taken, f"{taken}.{name}"} for file in files for taken, name in imports(file)
    )


def listed() -> Iterator[tuple[str, Path]]:
    """What the list says, by test and module."""
    for test, rooms in TESTED_IN.items():
        for room, names in (told.split(":") for told in rooms.split("; ")):
            for name in names.split():
                yield test, Path(room, f"{name}.py")


class TestTheMirror:
    def test_of_every_module_one_finds_the_test(self) -> None:
        """Whoever changes a module wants to see what it promises, without asking around."""
        known = {module for _, module in listed()}
        lost = [
            str(module)
            for module in modules()
            if module not in known
            and not (TESTS / module.parent / f"test_{module.name}").exists()
            and not named_in_its_room(module)
        ]
        assert sorted(lost) == []

    def test_the_list_names_nothing_that_is_found_without_it(self) -> None:
        """A list that has more than it needs is believed by nobody."""
        there = set(modules())
        wrong = [
            f"{module} in {test}"
            for test, module in listed()
            if module not in there
            or not (TESTS / test).exists()
            or (TESTS / module.parent / f"test_{module.name}").exists()
            or named_in_its_room(module)
        ]
        assert wrong == []
