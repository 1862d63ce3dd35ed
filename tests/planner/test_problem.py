"""What is not a rotation problem, and how its place is named."""

import json
from copy import deepcopy
from typing import Any

import pytest

from settingsdesk.planner.errors import NotARotationProblem
from settingsdesk.planner.problem import Goal, Wishes
from settingsdesk.planner.reading import problem_from_json

GOOD: dict[str, Any] = {
    "apparatus": [
        {
            "id": "U1",
            "axes": [
                {"id": "low rail", "stops": 9, "ends": 2, "handling_s": 8, "up_s": 5, "down_s": 3},
                {"id": "high rail", "stops": 9, "ends": 2, "handling_s": 8, "up_s": 5, "down_s": 3},
                {"id": "spread", "stops": 20, "ends": 2, "handling_s": 6, "up_s": 1, "down_s": 1},
            ],
            "any_move_s": 45,
            "setup": [4, 4, 9],
            "final_setup": None,
            "turns_min": None,
            "turns_max": None,
        }
    ],
    "athletes": [
        {"id": "a01", "setups": {"U1": [4, 5, 9]}, "accepts": {"U1": [0, 0, 1]}, "turn_s": 70},
        {"id": "a02", "setups": {"U1": [3, 5, 9]}, "accepts": {"U1": [0, 0, 0]}, "turn_s": 60},
    ],
    "turns": 1,
    "rest_turns": 0,
    "wishes": {"first": None, "last": None, "before": [], "together": [], "place": {}},
    "goal": "total",
    "time_limit_s": 10,
}

MISSING = object()

BAD: dict[str, tuple[list[Any], Any, str, str]] = {
    "a stop outside its axis": (
        ["athletes", 1, "setups", "U1", 2],
        20,
        "athletes[1].setups.U1[2]",
        "stop 20 is outside the spread, which has the stops 0 to 19",
    ),
    "a setup too short": (["athletes", 0, "setups", "U1"], [1], "athletes[0].setups.U1", "3 axes"),
    "an unknown apparatus": (
        ["athletes", 0, "setups", "U2"],
        [1, 1, 1],
        "athletes[0].setups.U2",
        "there is no apparatus U2",
    ),
    "no setup at all": (["athletes", 0, "setups"], {}, "athletes[0].setups", "needs a setup"),
    "an unknown athlete first": (["wishes", "first"], "Zoe", "wishes.first", "no athlete Zoe"),
    "an unknown athlete in a pair": (
        ["wishes", "before"],
        [["a01", "Zoe"]],
        "wishes.before[0][1]",
        "no athlete Zoe",
    ),
    "an unknown athlete in a group": (
        ["wishes", "together"],
        [["Zoe", "a01"]],
        "wishes.together[0][0]",
        "no athlete Zoe",
    ),
    "an unknown athlete at a place": (
        ["wishes", "place"],
        {"Zoe": 1},
        "wishes.place.Zoe",
        "no ath",
    ),
    "a place beyond the last turn": (
        ["wishes", "place"],
        {"a01": 3},
        "wishes.place.a01",
        "turn 3 is beyond the last turn, which is 2",
    ),
    "a place before the first turn": (
        ["wishes", "place"],
        {"a01": 0},
        "wishes.place.a01",
        "from 1",
    ),
    "a place given twice": (
        ["wishes", "place"],
        {"a01": 2, "a02": 2},
        "wishes.place.a02",
        "turn 2 is already given to a01",
    ),
    "before oneself": (["wishes", "before"], [["a01", "a01"]], "wishes.before[0]", "cannot go"),
    "a pair of three": (["wishes", "before"], [["a01", "a02", "a01"]], "wishes.before[0]", "two"),
    "a group of one": (["wishes", "together"], [["a01"]], "wishes.together[0]", "two athletes"),
    "too much rest": (["rest_turns"], 2, "rest_turns", "2 turns of rest need at least 3 athletes"),
    "more turns asked than there are": (
        ["apparatus", 0, "turns_min"],
        5,
        "apparatus[0].turns_min",
        "5 turns are asked for at least, but there are only 4",
    ),
    "fewer turns allowed than there are": (
        ["apparatus", 0, "turns_max"],
        3,
        "apparatus[0].turns_max",
        "3 turns are allowed at most, but there are 4",
    ),
    "a negative time": (
        ["apparatus", 0, "axes", 1, "up_s"],
        -1,
        "apparatus[0].axes[1].up_s",
        "0 s",
    ),
    "a fractional time": (
        ["apparatus", 0, "any_move_s"],
        4.5,
        "apparatus[0].any_move_s",
        "a whole number, not 4.5",
    ),
    "a number as text": (["turns"], "2", "turns", 'a whole number, not "2"'),
    "yes for a number": (["turns"], True, "turns", "a whole number, not true"),
    "an empty list": (["athletes"], [], "athletes", "the list of athletes is empty"),
    "no apparatus": (["apparatus"], [], "apparatus", "at least one apparatus"),
    "no axes": (["apparatus", 0, "axes"], [], "apparatus[0].axes", "at least one axis"),
    "an id given twice": (
        ["athletes", 1, "id"],
        "a01",
        "athletes[1]",
        "a01 is already in this list",
    ),
    "an axis given twice": (
        ["apparatus", 0, "axes", 1, "id"],
        "low rail",
        "apparatus[0].axes[1]",
        "low rail is already in this list",
    ),
    "an empty id": (["athletes", 1, "id"], "", "athletes[1]", "an id cannot be empty"),
    "no time to search": (["time_limit_s"], 0, "time_limit_s", "above 0 s"),
    "an unknown goal": (["goal"], "fun", "goal", "total or makespan, not fun"),
    "a field missing": (["athletes", 0, "turn_s"], MISSING, "athletes[0].turn_s", "missing"),
    "a field misspelt": (["rest_turn"], 2, "rest_turn", "no such field"),
    "an object for a list": (["athletes"], {}, "athletes", "must be a list"),
    "a list for an object": (["athletes", 0], [], "athletes[0]", "must be an object"),
    "yes as a number": (["in_rounds"], 1, "in_rounds", "true or false, not 1"),
    "yes as text": (["one_setup"], "yes", "one_setup", 'true or false, not "yes"'),
    "a group of nobody": (["groups"], [["a01", "a02"], []], "groups[1]", "this group is empty"),
    "somebody in two groups": (
        ["groups"],
        [["a01", "a02"], ["a01"]],
        "groups[1][0]",
        "a01 is in two groups",
    ),
    "somebody in no group": (["groups"], [["a01"]], "athletes[1]", "a02 is in no group"),
    "a stranger in a group": (["groups"], [["a01", "Zoe"]], "groups[0][1]", "no athlete Zoe"),
    "a negative deviation": (
        ["athletes", 0, "accepts", "U1", 1],
        -1,
        "athletes[0].accepts.U1[1]",
        "cannot be below 0",
    ),
    "a deviation elsewhere": (
        ["athletes", 0, "accepts", "U9"],
        [0, 0, 0],
        "athletes[0].accepts.U9",
        "no setup on U9",
    ),
    "an endless change-over": (
        ["apparatus", 0, "axes", 2, "up_s"],
        10**9,
        "apparatus[0].axes",
        "must stay below",
    ),
    "an axis without stops": (
        ["apparatus", 0, "axes", 0, "stops"],
        0,
        "apparatus[0].axes[0].stops",
        "1",
    ),
}


def spoilt(where: list[Any], value: Any) -> dict[str, Any]:
    given = deepcopy(GOOD)
    given["turns"] = 2
    inner: Any = given
    for key in where[:-1]:
        inner = inner[key]
    if value is MISSING:
        del inner[where[-1]]
    else:
        inner[where[-1]] = value
    if where[0] in ("wishes",):
        given["turns"] = 1
    return given


class TestAProblemFile:
    def test_is_read_with_every_field(self):
        """What a coach wrote is what is planned."""
        given = deepcopy(GOOD)
        given["goal"], given["turns"] = "makespan", 2
        given["wishes"] = {
            "first": "a01",
            "last": "a02",
            "before": [["a01", "a02"]],
            "together": [["a01", "a02"]],
            "place": {"a02": 2},
        }

        problem = problem_from_json(json.dumps(given))

        assert problem.goal is Goal.MAKESPAN
        assert problem.turn_count == 4
        assert problem.athletes[0].accepted("U1") == (0, 0, 1)
        assert problem.wishes.before == (("a01", "a02"),)
        assert problem.wishes.place == {"a02": 2}
        assert problem.apparatus[0].axes[2].id == "spread"

    def test_asks_nothing_of_all_turns_alike_unless_it_says_so(self):
        """Problem files of before stay what they are."""
        names = ("longest_rest", "in_rounds", "one_setup", "equal_numbers")
        asked = problem_from_json(json.dumps({**GOOD, **dict.fromkeys(names, True)}))
        usual = problem_from_json(json.dumps(GOOD))
        null = problem_from_json(json.dumps({**GOOD, **dict.fromkeys(names)}))

        assert [getattr(asked, name) for name in names] == [True] * 4
        assert [getattr(usual, name) for name in names] == [False] * 4
        assert null == usual

    def test_has_groups_in_the_order_in_which_they_are_listed(self):
        given = {**GOOD, "groups": [["a02"], ["a01"]]}

        assert problem_from_json(json.dumps(given)).groups == (("a02",), ("a01",))
        assert problem_from_json(json.dumps(given)).groups_in_order
        free = problem_from_json(json.dumps({**given, "groups_in_order": False}))
        assert not free.groups_in_order
        assert problem_from_json(json.dumps(GOOD)).groups == ()

    @pytest.mark.parametrize(
        ("wishes", "place", "reason"),
        [
            ({"before": [["a01", "a02"]]}, "wishes.before[0]", "different groups"),
            ({"together": [["a01", "a02"]]}, "wishes.together[0]", "different groups"),
            ({"place": {"a02": 2}}, "wishes.place.a02", "beyond the last turn, which is 1"),
        ],
    )
    def test_wishes_of_groups_are_each_of_one(
        self, wishes: dict[str, Any], place: str, reason: str
    ):
        with pytest.raises(NotARotationProblem) as refused:
            problem_from_json({**GOOD, "groups": [["a01"], ["a02"]], "wishes": wishes})

        assert refused.value.place == place
        assert reason in str(refused.value)

    def test_two_groups_have_a_first_turn_each(self):
        given = {**GOOD, "groups": [["a01"], ["a02"]], "wishes": {"place": {"a01": 1, "a02": 1}}}

        assert problem_from_json(given).wishes.place == {"a01": 1, "a02": 1}

    def test_rest_needs_enough_athletes_in_every_group(self):
        given = {**GOOD, "groups": [["a01"], ["a02"]], "turns": 2, "rest_turns": 1}

        with pytest.raises(NotARotationProblem, match="needs at least 2 athletes, and there is 1"):
            problem_from_json(given)

    @pytest.mark.parametrize("name", ["longest_rest", "in_rounds"])
    def test_on_several_apparatus_is_refused_what_is_meant_for_one(self, name: str):
        given = deepcopy(GOOD)
        given["apparatus"].append({**GOOD["apparatus"][0], "id": "U2"})

        with pytest.raises(NotARotationProblem) as refused:
            problem_from_json({**given, name: True})

        assert refused.value.place == name
        assert "need a rotation on one apparatus" in str(refused.value)

    @pytest.mark.parametrize("what", BAD)
    def test_that_is_none_is_refused_and_the_place_named(self, what: str):
        """Whoever wrote the file finds the spot to put right."""
        where, value, place, reason = BAD[what]

        with pytest.raises(NotARotationProblem) as refused:
            problem_from_json(spoilt(where, value))

        assert refused.value.place == place
        assert reason in str(refused.value)

    def test_is_refused_by_whatever_names_its_reader_has_for_the_ids(self):
        """The desk plans in numbers, and its coaches read names."""
        with pytest.raises(NotARotationProblem) as refused:
            Wishes(before=(("7", "8"), ("9", "9")))

        assert refused.value.where == ("before", 1)
        assert refused.value.reason == "9 cannot go before 9"
        assert refused.value.said({"9": "Nori {N.}"}.__getitem__) == (
            "Nori {N.} cannot go before Nori {N.}"
        )

    def test_of_500_athletes_is_refused(self):
        """A list of the whole club is a mistake, not a rotation."""
        given = deepcopy(GOOD)
        given["athletes"] = [{**GOOD["athletes"][0], "id": f"a{n}"} for n in range(500)]

        with pytest.raises(NotARotationProblem, match="athletes: 500 athletes are listed"):
            problem_from_json(given)

    @pytest.mark.parametrize(
        ("text", "place"),
        [
            ('{"turns": 1,\n "turns": }', "line 2, column 11"),
            ('{"turns": 1, "turns": 2}', "turns"),
            ('{"turns": NaN}', ""),
            ("[]", ""),
            ("[" * 100_000, ""),
        ],
    )
    def test_that_is_not_json_is_refused(self, text: str, place: str):
        """A file cut short, or with a name given twice, is not silently half-read."""
        with pytest.raises(NotARotationProblem) as refused:
            problem_from_json(text)

        assert refused.value.place == place


class TestChangeOverSeconds:
    def test_are_those_of_the_format(self):
        """Two ends at 8 s and 5 s a stop, one spreader pair at 6 s and 1 s, 45 s for any move."""
        unit = problem_from_json(GOOD).apparatus[0]

        assert unit.seconds((4, 4, 9), (4, 4, 9)) == 0
        assert unit.seconds((4, 4, 9), (4, 6, 9)) == 45 + 2 * (8 + 2 * 5)
        assert unit.seconds((4, 4, 9), (3, 4, 12)) == 45 + 2 * (8 + 3) + 2 * (6 + 3)
