"""The apparatus sheet as a file: what goes out comes in again, and nothing else comes in."""

import json
import tomllib
from contextlib import suppress
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.figures import EIGHTH_INCH_UM
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.hall.apparatus_sheet import (
    LONGEST_WORDS,
    MOST_BYTES,
    ApparatusSheet,
    NotASheet,
    SheetApparatus,
    SheetCalibration,
    SheetMark,
    SheetTooLarge,
    from_bytes,
    to_bytes,
)
from settingsdesk.domain.hall.calibration import TapedStop
from settingsdesk.domain.hall.definition import model_from_data
from settingsdesk.domain.hall.models import Guess
from settingsdesk.domain.hall.scales import ContinuousScale
from settingsdesk.resources import folder

MODELS = [
    model_from_data(data)
    for data in tomllib.loads((folder("seed") / "models.toml").read_text("utf-8"))["model"]
]
DAY = date(2026, 11, 2)


def sheet_of(*models: Any) -> ApparatusSheet:
    told = tuple(
        SheetApparatus(
            f"Apparatus {place}",
            "Hall 2",
            200,
            model,
            (
                SheetCalibration(
                    model.axes[0].key,
                    DAY,
                    (TapedStop(0, 1500.5), TapedStop(1, 1550.25)),
                    frozenset(),
                ),
            ),
        )
        for place, model in enumerate(models)
    )
    return ApparatusSheet("Sports centre", "Quillmoor", DAY, told)


MARKS = (
    SheetMark(MODELS[0].name, MODELS[0].axes[0].key, "Read at the sleeve", b"a picture"),
    SheetMark(MODELS[0].name, MODELS[0].axes[1].key, "Read at the collar"),
)


def changed(path: list[Any], value: Any) -> bytes:
    told = json.loads(to_bytes(sheet_of(MODELS[0])))
    at = told
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    return json.dumps(told).encode()


class TestRoundTrip:
    def test_every_shipped_model_comes_back_as_it_went(self) -> None:
        sheet = sheet_of(*MODELS)
        assert from_bytes(to_bytes(sheet)) == sheet

    def test_where_marks_are_read_comes_with_its_photo_as_it_went(self) -> None:
        sheet = replace(sheet_of(MODELS[0]), marks=MARKS)
        assert json.loads(to_bytes(sheet))["version"] == 3
        assert from_bytes(to_bytes(sheet)) == sheet

    def test_what_older_desks_would_misread_is_of_a_version_that_they_refuse(self) -> None:
        """They know neither guesses nor rulers in inches: 51 in would be shown as 129.5."""
        ruler = next(
            axis
            for model in MODELS
            for axis in model.axes
            if isinstance(axis.scale, ContinuousScale)
        )
        inches = replace(
            ruler, scale=ContinuousScale(1270.0, 2032.0, EIGHTH_INCH_UM / 1000, Unit.INCH)
        )
        model = next(model for model in MODELS if ruler in model.axes)
        printed = replace(
            model, axes=tuple(inches if axis is ruler else axis for axis in model.axes)
        )
        guessed = replace(model, guessed=frozenset(Guess))
        for sheet, version in ((model, 1), (printed, 2), (guessed, 2)):
            written = to_bytes(sheet_of(sheet))
            assert json.loads(written)["version"] == version
            assert from_bytes(written) == sheet_of(sheet)


class TestWhatIsRefused:
    @pytest.mark.parametrize(
        ("path", "value", "told"),
        [
            (["format"], "another", "no apparatus sheet"),
            (["version"], 4, "version 4, and 1 to 3 are read here"),
            (["marks"], [], "'marks'"),
            (["more"], 1, "'more'"),
            (["made_on"], "soon", "made_on is no day"),
            (["apparatus"], [], "apparatus holds none"),
            (["hall"], "x" * 200, "hall is no text"),
            (["hall"], "a\u0000b", "hall is no text"),
            (["apparatus", 0, "mat_mm"], 1.5, "apparatus 1, mat_mm"),
            (["apparatus", 0, "mat_mm"], True, "apparatus 1, mat_mm"),
            (["apparatus", 0, "name"], " ", "apparatus 1, name is empty"),
            (["apparatus", 0, "extra"], 1, "apparatus 1 says 'extra'"),
            (["apparatus", 0, "model", "axes"], {}, "apparatus 1, model does not fit"),
            (["apparatus", 0, "model"], [], "apparatus 1, model"),
            (["apparatus", 0, "calibration", 0, "axis"], "moon", "'moon'"),
            (["apparatus", 0, "calibration", 0, "taped", 0, "stop"], 9999, "reading 1, stop"),
            (["apparatus", 0, "calibration", 0, "taped", 0, "length_mm"], -1, "length_mm"),
            (["apparatus", 0, "calibration", 0, "taped", 0, "left_out"], "no", "left_out"),
        ],
    )
    def test_the_place_is_named(self, path: list[Any], value: Any, told: str) -> None:
        with pytest.raises(NotASheet) as refused:
            from_bytes(changed(path, value))
        assert told in str(refused.value)

    def test_a_text_may_be_as_long_as_it_says(self) -> None:
        longest = "x" * LONGEST_WORDS
        assert from_bytes(changed(["hall"], longest)).hall == longest
        with pytest.raises(NotASheet, match=f"at most {LONGEST_WORDS} characters"):
            from_bytes(changed(["hall"], longest + "x"))

    @pytest.mark.parametrize(
        ("at", "value", "told"),
        [
            ("model", "Frame of nobody", "names a model of which no apparatus is on the sheet"),
            ("axis", "moon", "names 'moon', which the model does not have"),
            ("words", "x" * 121, "marks, number 1, words is no text of at most 120"),
            ("words", None, "marks, number 1, words"),
            ("photo", "?", "marks, number 1, photo is no picture as a sheet has it"),
            ("photo", 7, "marks, number 1, photo is no picture as a sheet has it"),
            ("photo", "QUJD" * 30_000, "marks, number 1, photo has more than 80 kB"),
            ("more", "x", "marks, number 1 says 'more'"),
        ],
    )
    def test_of_where_marks_are_read_too(self, at: str, value: Any, told: str) -> None:
        sheet = json.loads(to_bytes(replace(sheet_of(MODELS[0]), marks=MARKS)))
        sheet["marks"][0][at] = value
        with pytest.raises(NotASheet) as refused:
            from_bytes(json.dumps(sheet).encode())
        assert told in str(refused.value)

    def test_an_adjustment_of_which_it_is_said_twice_is_refused(self) -> None:
        with pytest.raises(NotASheet, match="twice of one adjustment"):
            from_bytes(to_bytes(replace(sheet_of(MODELS[0]), marks=(*MARKS, MARKS[0]))))

    def test_a_sheet_that_no_desk_would_read_is_not_written(self) -> None:
        large = tuple(replace(MARKS[0], photo=bytes(80_000)) for _ in range(60))
        with pytest.raises(SheetTooLarge, match="save it without photos"):
            to_bytes(replace(sheet_of(MODELS[0]), marks=large))

    @pytest.mark.parametrize(
        "content",
        [
            b"",
            b"[]",
            b"\xff\xfe{}",
            b"[" * 100_000,
            b'{"format": "settingsdesk apparatus sheet", "version": NaN}',
            b" " * (MOST_BYTES + 1),
        ],
        ids=["empty", "list", "utf-16", "deep", "not a number", "large"],
    )
    def test_what_is_no_sheet_at_all_is_said_to_be_none(self, content: bytes) -> None:
        with pytest.raises(NotASheet):
            from_bytes(content)

    def test_a_name_that_stands_twice_is_refused(self) -> None:
        """RFC 8259, 4: what a reader makes of two members of one name is unpredictable."""
        text = to_bytes(sheet_of(MODELS[0])).decode().replace('"hall"', '"host": "x", "hall"')
        with pytest.raises(NotASheet):
            from_bytes(text.encode())

    @given(st.data())
    def test_a_spoilt_file_is_refused_or_read_and_never_a_fault(self, data: Any) -> None:
        """Whatever was changed by hand on its way."""
        told = json.loads(to_bytes(sheet_of(MODELS[0])))
        at, steps = told, data.draw(st.integers(1, 6))
        for _ in range(steps):
            keys = list(at) if isinstance(at, dict) else list(range(len(at)))
            if not keys:
                break
            key = data.draw(st.sampled_from(keys))
            if isinstance(at[key], dict | list) and data.draw(st.booleans()):
                at = at[key]
                continue
            at[key] = data.draw(
                st.none()
                | st.booleans()
                | st.integers(-(10**9), 10**9)
                | st.floats(allow_nan=False, allow_infinity=False)
                | st.text(max_size=5)
                | st.lists(st.integers(), max_size=2)
                | st.dictionaries(st.text(max_size=3), st.integers(), max_size=2)
            )
            break
        with suppress(NotASheet):
            from_bytes(json.dumps(told).encode())
