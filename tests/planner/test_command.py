"""The command: a problem file in, JSON out, and what the exit status means."""

import json
from pathlib import Path
from typing import Any

from settingsdesk.planner.command import order_problem

PROBLEM: dict[str, Any] = {
    "apparatus": [
        {
            "id": "U1",
            "axes": [
                {"id": "height", "stops": 9, "ends": 2, "handling_s": 8, "up_s": 5, "down_s": 3}
            ],
            "any_move_s": 45,
            "setup": [4],
        }
    ],
    "athletes": [
        {"id": "Ada", "setups": {"U1": [5]}, "turn_s": 70},
        {"id": "Bo", "setups": {"U1": [4]}, "turn_s": 70},
    ],
}


def ordered(tmp_path: Path, text: str | bytes, *, as_json: bool = True) -> tuple[int, str, str]:
    file = tmp_path / "problem.json"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    said: list[str] = []
    complained: list[str] = []
    status = order_problem(file, as_json=as_json, say=said.append, complain=complained.append)
    return status, "\n".join(said), "\n".join(complained)


class TestOrderingAFile:
    def test_answers_with_all_that_the_format_names(self, tmp_path: Path):
        """Another program can check the plan without knowing this one."""
        status, said, complained = ordered(tmp_path, json.dumps(PROBLEM))

        answer = json.loads(said)
        assert status == 0
        assert complained == ""
        assert answer.pop("solve_s") >= 0
        assert answer == {
            "status": "proven",
            "goal_s": 71,
            "bound_s": 71,
            "change_over_s": 71,
            "makespan_s": 211,
            "deviation_stops": 0,
            "change_overs": 1,
            "least_rest_turns": None,
            "compared": {"as_listed_s": 71 + 67, "by_height_s": 71, "group_by_group_s": None},
            "plan": {"U1": [{"athlete": "Bo", "setup": [4]}, {"athlete": "Ada", "setup": [5]}]},
            "group_by_group": None,
            "wish_costs": [],
        }

    def test_says_what_each_wish_costs(self, tmp_path: Path):
        """Ada first: the rail goes up for her and down again for Bo, who could stay below."""
        wishes = {"first": "Ada", "before": [["Ada", "Bo"]]}
        asked = json.dumps({**PROBLEM, "wishes": {"first": "Ada"}})
        _, said, _ = ordered(tmp_path, asked)
        _, in_words, _ = ordered(tmp_path, asked, as_json=False)
        _, both, _ = ordered(tmp_path, json.dumps({**PROBLEM, "wishes": wishes}))

        assert json.loads(said)["wish_costs"] == [
            {
                "wish": "wishes.first",
                "at_least_s": 67,
                "at_most_s": 67,
                "without_s": 71,
                "without_bound_s": 71,
            }
        ]
        assert "wishes.first costs 67 s; without it 71 s" in in_words
        # either alone keeps the other: to drop one of them saves nothing
        assert [cost["at_most_s"] for cost in json.loads(both)["wish_costs"]] == [0, 0]

    def test_reads_a_file_that_begins_with_a_byte_order_mark(self, tmp_path: Path):
        """Some editors put one before everything they write as UTF-8."""
        status, said, complained = ordered(tmp_path, json.dumps(PROBLEM).encode("utf-8-sig"))

        assert (status, complained) == (0, "")
        assert json.loads(said)["goal_s"] == 71

    def test_answers_a_person_in_words(self, tmp_path: Path):
        """Whoever asks without --json can read the order."""
        status, said, _ = ordered(tmp_path, json.dumps(PROBLEM), as_json=False)

        assert status == 0
        assert said.splitlines()[:3] == ["U1", "   1  Bo  4", "   2  Ada  5"]
        assert "71 s, proven" in said
        assert "as listed: 138 s" in said

    def test_names_the_wishes_that_cannot_hold_together_with_status_1(self, tmp_path: Path):
        """The coach reads which wish to take back."""
        wishes = {"before": [["Ada", "Bo"]], "first": "Bo"}

        status, said, complained = ordered(tmp_path, json.dumps({**PROBLEM, "wishes": wishes}))

        assert (status, said) == (1, "")
        assert "Bo first, Ada before Bo" in complained

    def test_names_the_place_in_a_file_that_is_no_problem_with_status_2(self, tmp_path: Path):
        """Whoever wrote the file finds the spot."""
        status, said, complained = ordered(tmp_path, json.dumps({**PROBLEM, "turns": 0}))

        assert (status, said) == (2, "")
        assert complained == "turns: everybody needs at least 1 turn"

    def test_says_so_where_the_file_is_not_text(self, tmp_path: Path):
        """A picture instead of a problem."""
        status, _, complained = ordered(tmp_path, b"\xff\xfe\x00")

        assert status == 2
        assert "not a text file in UTF-8" in complained

    def test_says_so_where_there_is_no_file(self, tmp_path: Path):
        """A name mistyped."""
        complained: list[str] = []

        status = order_problem(
            tmp_path / "none.json", as_json=True, say=complained.append, complain=complained.append
        )

        assert status == 2
        assert "none.json: this file cannot be read" in complained[0]
