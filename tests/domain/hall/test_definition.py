"""An apparatus model as plain data: there and back unchanged, and the place named that is wrong."""

import json
from copy import deepcopy
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import NotASection
from settingsdesk.domain.base.kinds import NoSuchKind
from settingsdesk.domain.hall.definition import (
    AxisNotAsDefined,
    NotADefinition,
    model_from_data,
    model_to_data,
    scale_from_data,
    scale_to_data,
)
from settingsdesk.domain.hall.models import NotAModel
from settingsdesk.domain.hall.scales import Scale

RULER = {"type": "continuous", "from_mm": 1300.0, "to_mm": 1900.0, "resolution_mm": 5.0}
GONE = object()


@pytest.fixture
def changed(bars):
    """The bars' data with one place changed, or gone."""

    def change(place: str, value: object):
        data = deepcopy(model_to_data(bars))
        *groups, key = place.split(".")
        group = data
        for name in groups:
            group = group[name]
        if value is GONE:
            del group[key]
        else:
            group[key] = value
        return data

    return change


class TestThereAndBack:
    @given(st.data())
    def test_any_model_comes_back_unchanged_through_json(self, any_model, data):
        """What the store keeps and a file carries is the whole model."""
        model = data.draw(any_model)
        assert model_from_data(json.loads(json.dumps(model_to_data(model)))) == model

    @given(st.data())
    def test_any_scale_comes_back_unchanged_through_json(self, a_scale, data):
        """Calibrated ones included."""
        scale = data.draw(a_scale())
        assert scale_from_data(json.loads(json.dumps(scale_to_data(scale)))) == scale

    def test_an_axis_has_as_many_as_eight_ends(self, bars):
        data = model_to_data(bars)
        data["axes"]["low_rail"]["ends"] = [f"end {number}" for number in range(8)]
        assert len(model_from_data(data).axes[0].ends) == 8

    def test_a_file_need_not_say_what_goes_without_saying(self, bars):
        """Names of ends, numbered labels from 1, upper edge, upright at level rails, estimated."""
        data = model_to_data(bars)
        spread = data["axes"]["spread"]["scale"]
        del data["axes"]["low_rail"]["ends"], data["axes"]["low_rail"]["edge"]
        del data["axes"]["low_rail"]["scale"]["lettering"], spread["first_label"]
        del data["axes"]["low_rail"]["scale"]["first_label"]
        del data["axes"]["spread"]["spread_datum"], data["procedure"]["estimated"]
        assert model_from_data(data) == bars

    def test_without_a_reference_drop_a_printed_spread_is_that_of_level_rails(self, changed):
        """0 where the file does not say."""
        model = model_from_data(changed("geometry", {"type": "upright"}))
        assert model.geometry.reference_drop_mm == 0

    def test_a_number_serves_as_a_mark(self):
        """Files write 5 for "5"."""
        scale = scale_from_data({"type": "tabulated", "table": [[5, 1000], [6, 1050]]})
        assert scale.label(0) == "5"

    def test_a_scale_of_an_unknown_make_is_not_kept(self):
        """Better refused than kept as something else."""

        class Dial(Scale):
            count = 1

            def _label(self, stop):
                return "1"

            def _length_mm(self, stop):
                return 0.0

        with pytest.raises(NotADefinition, match="'Dial' was read"):
            scale_to_data(Dial())


class TestWhatDoesNotFit:
    @pytest.mark.parametrize(
        ("place", "value", "wanted"),
        [
            ("name", GONE, "a text"),
            ("name", 7, "a text"),
            ("kind", GONE, "a text"),
            ("axes", [], "a group of values"),
            ("axes.low_rail", GONE, "a group of values"),
            ("axes.low_rail.scale", "holes", "a group of values"),
            ("axes.low_rail.handling_s", 1.5, "a whole number"),
            ("axes.low_rail.up_s", GONE, "a whole number"),
            ("axes.low_rail.down_s", True, "a whole number"),
            ("axes.low_rail.edge", "top", "one of upper, centre, underside"),
            ("axes.low_rail.edge", ["upper"], "one of upper, centre, underside"),
            ("axes.low_rail.ends", "front end", "a list of texts"),
            ("axes.low_rail.ends", None, "a list of texts"),
            ("axes.low_rail.ends", [1, 2], "a list of texts"),
            ("axes.low_rail.ends", [], "between 1 and 8 ends, each with a name"),
            ("axes.low_rail.ends", ["end"] * 9, "between 1 and 8 ends, each with a name"),
            ("axes.low_rail.ends", [" "], "between 1 and 8 ends, each with a name"),
            ("axes.low_rail.scale.first_mm", "1400", "a number"),
            ("axes.low_rail.scale.pitch_mm", True, "a number"),
            ("axes.low_rail.scale.pitch_mm", nan, "a number that a tape could show"),
            ("axes.low_rail.scale.pitch_mm", inf, "a number that a tape could show"),
            ("axes.low_rail.scale.pitch_mm", 10**400, "a number that a tape could show"),
            ("axes.low_rail.scale.stops", 9.0, "a whole number"),
            ("axes.low_rail.scale.first_label", "A", "a whole number"),
            ("axes.low_rail.scale.lettering", "roman", "one of numbers, letters"),
            (
                "axes.low_rail.scale.type",
                "dial",
                "regular, tabulated, continuous or calibrated",
            ),
            (
                "axes.spread.spread_datum",
                "outer",
                "one of inner, centres_horizontal, centres_diagonal",
            ),
            ("procedure", GONE, "a group of values"),
            ("procedure.square_s", "10", "a whole number"),
            ("procedure.estimated", "no", "true or false"),
            ("geometry", GONE, "a group of values"),
            ("geometry.type", "hanging", "upright or leaning"),
            ("geometry.reference_drop_mm", nan, "a number that a tape could show"),
        ],
    )
    def test_the_place_is_named_with_what_must_stand_there(self, changed, place, value, wanted):
        """Whoever wrote the file finds the line."""
        with pytest.raises(NotADefinition) as refused:
            model_from_data(changed(place, value))

        assert refused.value.place == place
        assert str(refused.value).startswith(f"{place} must be {wanted}; ")

    @pytest.mark.parametrize(
        ("section", "message"),
        [
            ([40], "section_mm must be a height and a width; [40] was read"),
            ("40", "section_mm must be a height and a width; '40' was read"),
            ([40, "wide"], "section_mm.width must be a number; 'wide' was read"),
        ],
    )
    def test_a_section_has_two_numbers(self, changed, section, message):
        """Height first."""
        with pytest.raises(NotADefinition) as refused:
            model_from_data(changed("section_mm", section))

        assert str(refused.value) == message

    @pytest.mark.parametrize("row", [["5"], "5 1000", ["5", 1000, 1], [None, 1000], [[5], 1000]])
    def test_a_line_of_a_table_has_a_label_and_a_length(self, row):
        """Counted from 0, as the place of a list is."""
        with pytest.raises(NotADefinition) as refused:
            scale_from_data({"type": "tabulated", "table": [["4", 950], row]})

        assert str(refused.value).startswith("scale.table[1] must be a label and a length; ")

    def test_a_length_that_is_none_is_named_by_its_line(self):
        """The lines before it are in order."""
        with pytest.raises(NotADefinition, match=r"^scale.table\[0\].length must be a number"):
            scale_from_data({"type": "tabulated", "table": [["4", "tall"]]})

    def test_a_calibrated_scale_names_the_place_in_the_scale_it_calibrates(self):
        """One within the other."""
        printed = {**RULER, "to_mm": "far"}
        with pytest.raises(NotADefinition) as refused:
            scale_from_data({"type": "calibrated", "printed": printed, "offset_mm": 0, "gain": 1})

        assert refused.value.place == "scale.printed.to_mm"

    @pytest.mark.parametrize(
        ("place", "value", "message"),
        [
            (
                "axes.low_rail.scale.pitch_mm",
                0,
                "Low rail height: The distance from mark to mark must be more than 0",
            ),
            (
                "axes.high_rail.scale.stops",
                0,
                (
                    "High rail height: A scale must have between 1 and 5000 stops;"
                    " this one would have 0"
                ),
            ),
            (
                "axes.spread.handling_s",
                -1,
                "Rail spread: An operation must take between 0 and 3600 seconds; -1 was given",
            ),
        ],
    )
    def test_values_that_make_no_axis_are_told_with_the_axis(self, changed, place, value, message):
        """Three axes have a pitch; the message says which one is meant."""
        with pytest.raises(AxisNotAsDefined) as refused:
            model_from_data(changed(place, value))

        assert str(refused.value) == message

    @pytest.mark.parametrize(
        ("place", "value", "error"),
        [
            ("kind", "trampoline", NoSuchKind),
            ("section_mm", None, NotAModel),
            ("section_mm", [400, 40], NotASection),
            ("name", " ", NotAModel),
        ],
    )
    def test_what_is_wrong_with_the_whole_is_told_by_the_whole(self, changed, place, value, error):
        """The messages are those of the model itself."""
        with pytest.raises(error):
            model_from_data(changed(place, value))
