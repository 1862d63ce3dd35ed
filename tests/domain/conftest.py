"""Apparatus models for the specification of the domain: some to check on paper, and any at all."""

from collections.abc import Callable
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from settingsdesk.domain.base.datums import Section, SpreadDatum
from settingsdesk.domain.base.kinds import KINDS, AxisKind, Quantity
from settingsdesk.domain.base.units import Unit
from settingsdesk.domain.changeover.changeover import EndStops
from settingsdesk.domain.hall.geometry import Leaning, Upright
from settingsdesk.domain.hall.models import ApparatusModel, Axis, AxisTimes, Procedure
from settingsdesk.domain.hall.scales import (
    CalibratedScale,
    ContinuousScale,
    Lettering,
    RegularScale,
    Scale,
    TabulatedScale,
)
from settingsdesk.domain.settings.settings import Setting, Wanted

ROUND_RAIL = Section(40, 40)
FIRST_MM = {"low_rail": 1400, "high_rail": 2200, "spread": 1300, "board": 900, "run_up": 15_000}
NARROWEST_MM = 420  # between parallel bars


def _uneven_bars(geometry: Upright | Leaning, times: AxisTimes, procedure: Procedure):
    kind = KINDS["uneven_bars"]
    low, high, spread = kind.axes
    return ApparatusModel(
        name="Bars in hall A",
        kind=kind,
        axes=(
            Axis(low, RegularScale(1400, 50, 9), times, low.ends),
            Axis(high, RegularScale(2200, 50, 9), times, high.ends),
            Axis(
                spread,
                RegularScale(1300, 20, 31, Lettering.LETTERS),
                AxisTimes(6, 1, 1),
                spread.ends,
                spread_datum=SpreadDatum.INNER,
            ),
        ),
        procedure=procedure,
        section=ROUND_RAIL,
        geometry=geometry,
    )


@pytest.fixture(scope="session")
def bars() -> ApparatusModel:
    """Uneven bars whose printed spread is true while the rails are 80 cm apart in height.

    Low rail 1 to 9 at 140 to 180 cm, high rail 1 to 9 at 220 to 260 cm, spread A to AE at 130 to
    190 cm.
    """
    return _uneven_bars(Upright(800), AxisTimes(8, 5, 3), Procedure(15, 10, 14, 6, 2))


def _first_mm(kind_key: str, axis_key: str) -> int:
    if (kind_key, axis_key) == ("parallel_bars", "spread"):
        return NARROWEST_MM
    return FIRST_MM.get(axis_key, 1000)


@pytest.fixture(scope="session")
def model_of() -> Callable[..., ApparatusModel]:
    """A model of any kind: five stops of 5 cm on each axis, 10 s an end and 2 s a stop."""

    def build(kind_key: str, **changed) -> ApparatusModel:
        kind = KINDS[kind_key]
        return ApparatusModel(
            **{
                "name": f"{kind.name} in hall B",
                "kind": kind,
                "axes": tuple(
                    Axis(
                        axis,
                        RegularScale(_first_mm(kind_key, axis.key), 50, 5),
                        AxisTimes(10, 2, 2),
                        axis.ends,
                    )
                    for axis in kind.axes
                ),
                "procedure": Procedure(0, 0, 0, 5, 0),
                "section": ROUND_RAIL if kind.railed else None,
                **changed,
            }
        )

    return build


AN_EIGHTH = 3.175  # of an inch, in millimetres


@pytest.fixture(scope="session")
def a_scale() -> Callable[..., st.SearchStrategy[Scale]]:
    """Scales of every type that begin near a length and have few stops."""
    return _scales


@cache  # to make a strategy takes longer than to draw from it
def _scales(near_mm: int = 1400, most: int = 4) -> st.SearchStrategy[Scale]:
    first, pitch = st.integers(near_mm, near_mm + 60), st.integers(1, 60)
    count = st.integers(1, most)
    regular = st.builds(
        RegularScale, first, pitch, count, st.sampled_from(Lettering), st.integers(1, 30)
    )
    tabulated = st.builds(
        lambda begin, gaps: TabulatedScale(
            tuple((f"mark {n}", float(begin + sum(gaps[:n]))) for n in range(len(gaps) + 1))
        ),
        first,
        st.lists(pitch, max_size=most - 1),
    )
    continuous = st.builds(
        lambda begin, step, stops: ContinuousScale(begin, begin + step * (stops - 1), step),
        first,
        pitch,
        count,
    )
    in_inches = st.builds(
        lambda begin, step, stops: ContinuousScale(
            begin * AN_EIGHTH, (begin + step * (stops - 1)) * AN_EIGHTH, step * AN_EIGHTH, Unit.INCH
        ),
        st.integers(round(near_mm / AN_EIGHTH), round(near_mm / AN_EIGHTH) + 19),
        st.integers(1, 19),
        count,
    )
    printed = st.one_of(regular, tabulated, continuous, in_inches)
    calibrated = st.builds(
        CalibratedScale, printed, st.integers(-5, 5), st.sampled_from((0.99, 1.0, 1.01))
    )
    return st.one_of(printed, calibrated)


@pytest.fixture(scope="session")
def any_model() -> st.SearchStrategy[ApparatusModel]:
    """Small models of all kinds, upright and leaning.

    They are drawn once for all tests, each of which takes another choice of them: to draw one takes
    longer than most tests take for all else.
    """
    found: list[ApparatusModel] = []

    @settings(max_examples=300)
    @given(_models())
    def draw(model: ApparatusModel) -> None:
        found.append(model)

    draw()
    return st.sampled_from(found)


A_KIND = st.sampled_from(list(KINDS.values()))
UPRIGHT = st.builds(Upright, st.integers(0, 900))
UPRIGHT_OR_LEANING = st.one_of(
    UPRIGHT,
    st.builds(Leaning, st.integers(1000, 1600), st.integers(1000, 2000), st.integers(0, 100)),
)
NO_LIMIT, ANY_LIMIT = st.none(), st.one_of(st.none(), st.integers(1, 3))


@st.composite
def _models(draw) -> ApparatusModel:
    kind = draw(A_KIND)
    seconds = st.integers(0, 60)
    tensioners = draw(st.integers(0, 4))
    cables = seconds if tensioners else st.just(0)

    def axis(of: AxisKind) -> Axis:
        datum = SpreadDatum.INNER
        if of.quantity is Quantity.SPREAD:
            datum = draw(st.sampled_from(SpreadDatum))
        scale = draw(_scales(FIRST_MM.get(of.key, 1000)))
        times = AxisTimes(draw(seconds), draw(seconds), draw(seconds))
        limit = NO_LIMIT if len(of.ends) == 1 else ANY_LIMIT
        return Axis(of, scale, times, of.ends, spread_datum=datum, ends_may_differ=draw(limit))

    geometry = draw(UPRIGHT if kind.spread_between is None else UPRIGHT_OR_LEANING)
    return ApparatusModel(
        name="Any apparatus",
        kind=kind,
        axes=tuple(axis(of) for of in kind.axes),
        procedure=Procedure(draw(cables), draw(seconds), draw(cables), draw(seconds), tensioners),
        section=Section(draw(st.integers(28, 50)), 40) if kind.railed else None,
        geometry=geometry,
    )


@pytest.fixture(scope="session")
def any_setting() -> Callable[[ApparatusModel], st.SearchStrategy[Setting]]:
    """Wishes on or near a model's scales, weighted at will."""

    def wishes(model: ApparatusModel) -> st.SearchStrategy[Setting]:
        def near(axis: Axis) -> st.SearchStrategy[Wanted]:
            first = round(axis.scale.length_mm(0))
            last = round(axis.scale.length_mm(axis.scale.count - 1))
            wanted = st.integers(max(first - 80, 0), last + 80)
            return st.builds(Wanted, wanted, st.integers(0, 50), st.integers(1, 9))

        axes = st.fixed_dictionaries({axis.key: near(axis) for axis in model.axes})
        return axes.map(lambda wanted: Setting(model.kind, wanted))

    return wishes


@pytest.fixture(scope="session")
def any_setup() -> Callable[[ApparatusModel], st.SearchStrategy[tuple[int, ...]]]:
    """Setups of a model."""

    def stops(model: ApparatusModel) -> st.SearchStrategy[tuple[int, ...]]:
        return st.tuples(*(st.integers(0, axis.scale.count - 1) for axis in model.axes))

    return stops


@pytest.fixture(scope="session")
def any_stands() -> Callable[[ApparatusModel], st.SearchStrategy[EndStops]]:
    """Where the ends of a model may stand in the middle of a change-over."""

    def ends(model: ApparatusModel) -> st.SearchStrategy[EndStops]:
        return st.tuples(
            *(
                st.tuples(*(st.integers(0, axis.scale.count - 1) for _ in axis.ends))
                for axis in model.axes
            )
        )

    return ends
