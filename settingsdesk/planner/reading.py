"""A problem from JSON, or a refusal that names the place in the file."""

import json
from collections.abc import Callable, Mapping
from typing import Any, NoReturn, TypeVar

from settingsdesk.planner.errors import NotARotationProblem, inside, refuse_unless
from settingsdesk.planner.problem import AxisTimes, Entrant, Goal, Problem, Setup, Unit, Wishes

Made = TypeVar("Made")


def problem_from_json(source: str | Mapping[str, Any]) -> Problem:
    """The problem that a file's text, or the object read from it, describes.

    Raises NotARotationProblem, which names the place of the first value that cannot stand.
    """
    given = _Fields(_parsed(source) if isinstance(source, str) else source)
    problem = Problem(
        apparatus=given.each("apparatus", _unit),
        athletes=given.each("athletes", _entrant),
        turns=given.whole("turns", 1),
        rest_turns=given.whole("rest_turns", 0),
        wishes=given.inner("wishes", _wishes, Wishes()),
        goal=_goal(given.text("goal", Goal.TOTAL)),
        time_limit_s=given.number("time_limit_s", 10),
        longest_rest=given.flag("longest_rest"),
        in_rounds=given.flag("in_rounds"),
        one_setup=given.flag("one_setup"),
        equal_numbers=given.flag("equal_numbers"),
        groups=given.groups("groups"),
        groups_in_order=given.flag("groups_in_order", True),
    )
    given.nothing_else()
    return problem


def _parsed(text: str) -> Any:
    try:
        told = json.loads(text, object_pairs_hook=_no_key_twice, parse_constant=_not_a_number)
        json.dumps(told, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise NotARotationProblem((), "a name here has half of a sign, which no text has") from None
    except json.JSONDecodeError as broken:
        raise NotARotationProblem(
            (f"line {broken.lineno}, column {broken.colno}",), f"this is not JSON ({broken.msg})"
        ) from None
    except ValueError:
        raise NotARotationProblem((), "a number here has more digits than any time") from None
    except RecursionError:
        raise NotARotationProblem((), "this is nested too deep for a rotation problem") from None
    return told


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        refuse_unless(key not in found, key, "this name is given twice in one object")
        found[key] = value
    return found


def _not_a_number(name: str) -> NoReturn:
    raise NotARotationProblem((), f"{name} is not a number")


def _goal(name: str) -> Goal:
    refuse_unless(name in set(Goal), "goal", f"the goal is total or makespan, not {name}")
    return Goal(name)


def _unit(given: "_Fields") -> Unit:
    return Unit(
        id=given.text("id"),
        axes=given.each("axes", _axis),
        any_move_s=given.whole("any_move_s"),
        setup=given.wholes("setup"),
        final_setup=given.wholes("final_setup") if given.has("final_setup") else None,
        turns_min=given.whole("turns_min") if given.has("turns_min") else None,
        turns_max=given.whole("turns_max") if given.has("turns_max") else None,
    )


def _axis(given: "_Fields") -> AxisTimes:
    times = {name: given.whole(name) for name in ("stops", "ends", "handling_s", "up_s", "down_s")}
    return AxisTimes(id=given.text("id"), **times)


def _entrant(given: "_Fields") -> Entrant:
    return Entrant(
        id=given.text("id"),
        setups=given.inner("setups", _setups, None),
        turn_s=given.whole("turn_s"),
        accepts=given.inner("accepts", _setups, {}),
    )


def _setups(given: "_Fields") -> dict[str, Setup]:
    return {unit_id: given.wholes(unit_id) for unit_id in given.names()}


def _wishes(given: "_Fields") -> Wishes:
    return Wishes(
        first=given.text("first") if given.has("first") else None,
        last=given.text("last") if given.has("last") else None,
        before=tuple(_pair(group, number) for number, group in enumerate(given.groups("before"))),
        together=given.groups("together"),
        place=given.inner("place", _places, {}),
    )


def _pair(group: tuple[str, ...], number: int) -> tuple[str, str]:
    refuse_unless(len(group) == 2, ("before", number), "this must name two athletes, A before B")
    return group[0], group[1]


def _places(given: "_Fields") -> dict[str, int]:
    return {athlete: given.whole(athlete) for athlete in given.names()}


class _Fields:
    """One JSON object, asked for its fields by name; what nobody asked for is refused."""

    def __init__(self, value: Any):
        refuse_unless(isinstance(value, Mapping), (), "this must be an object in { }")
        self._value: Mapping[str, Any] = value
        self._asked: set[str] = set()

    def names(self) -> list[str]:
        return list(self._value)

    def has(self, name: str) -> bool:
        self._asked.add(name)
        return self._value.get(name) is not None

    def _get(self, name: str, default: Any) -> Any:
        if self.has(name):
            return self._value[name]
        refuse_unless(default is not None, name, "this is missing")
        return default

    def text(self, name: str, default: str | None = None) -> str:
        return _text(self._get(name, default), name)

    def whole(self, name: str, default: int | None = None) -> int:
        return _whole(self._get(name, default), name)

    def number(self, name: str, default: float) -> float:
        value = self._get(name, default)
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
        refuse_unless(is_number, name, f"this must be a number, not {_said(value)}")
        return float(value)

    def flag(self, name: str, usual: bool = False) -> bool:
        value = self._get(name, usual)
        refuse_unless(isinstance(value, bool), name, f"this is true or false, not {_said(value)}")
        return bool(value)

    def wholes(self, name: str) -> Setup:
        values = _list(self._get(name, None), name)
        return tuple(_whole(value, name, i) for i, value in enumerate(values))

    def groups(self, name: str) -> tuple[tuple[str, ...], ...]:
        return tuple(
            tuple(_text(athlete, name, i, j) for j, athlete in enumerate(_list(group, name, i)))
            for i, group in enumerate(_list(self._get(name, []), name))
        )

    def inner(self, name: str, made: Callable[["_Fields"], Made], default: Made | None) -> Made:
        if not self.has(name) and default is not None:
            return default
        return _made(self._get(name, None), made, name)

    def each(self, name: str, made: Callable[["_Fields"], Made]) -> tuple[Made, ...]:
        values = _list(self._get(name, None), name)
        return tuple(_made(value, made, name, i) for i, value in enumerate(values))

    def nothing_else(self) -> None:
        for name in self._value:
            refuse_unless(name in self._asked, name, "a rotation problem has no such field")


def _made(value: Any, made: Callable[[_Fields], Made], *where: str | int) -> Made:
    with inside(*where):
        given = _Fields(value)
        result = made(given)
        given.nothing_else()
    return result


def _list(value: Any, *where: str | int) -> list[Any]:
    refuse_unless(isinstance(value, list), where, f"this must be a list, not {_said(value)}")
    return list(value)


def _text(value: Any, *where: str | int) -> str:
    refuse_unless(isinstance(value, str), where, f"this must be text, not {_said(value)}")
    return str(value)


def _whole(value: Any, *where: str | int) -> int:
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    refuse_unless(is_whole, where, f"this must be a whole number, not {_said(value)}")
    return int(value)


def _said(value: Any) -> str:
    return json.dumps(value, default=str)[:40]
