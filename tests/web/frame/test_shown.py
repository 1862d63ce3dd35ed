"""How rails are called on pages, and what of a list a reader's language says."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from flask import Flask, g

from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.web.frame.language import in_full, listed, said
from settingsdesk.web.frame.shown import loud
from settingsdesk.words.languages import NAMES, spoken

CASELESS = ("ja", "ar")
BARS = KINDS["uneven_bars"]


@contextmanager
def reading(app: Flask, tag: str) -> Iterator[None]:
    """Somebody reads in that language."""
    with app.test_request_context():
        g.language = spoken(tag)
        yield


class TestARailThatIsCalledOut:
    @pytest.mark.parametrize("tag", [tag for tag in NAMES if tag not in CASELESS])
    def test_is_in_capitals_wherever_a_step_names_it(self, app: Flask, tag: str) -> None:
        """The word that tells it from the other, and nothing else."""
        with reading(app, tag):
            low, high, _spread = (said(axis.name) for axis in BARS.axes)
            for quiet in (low, high, *map(said, BARS.sides)):
                words = zip(quiet.split(), loud(quiet).split(), strict=True)
                changed = [(before, after) for before, after in words if before != after]
                assert len(changed) == 1, quiet
                assert any(sign.isupper() for sign in changed[0][1][1:])

    @pytest.mark.parametrize("tag", CASELESS)
    def test_stands_as_it_is_where_there_are_no_capitals(self, app: Flask, tag: str) -> None:
        with reading(app, tag):
            assert all(loud(said(axis.name)) == said(axis.name) for axis in BARS.axes)

    def test_is_told_from_other_heights(self, app: Flask) -> None:
        with reading(app, "en"):
            assert loud("Slacken low-rail side: too low") == "Slacken LOW-rail side: too low"


class TestALanguagesOwnStop:
    @pytest.mark.parametrize(
        ("words", "told"),
        [(Sentence("front"), "前。"), ("もう低い。", "もう低い。"), ("Too low.", "Too low.")],
    )
    def test_ends_what_has_none(self, app: Flask, words: str, told: str) -> None:
        with reading(app, "ja"):
            assert in_full(words) == told

    def test_is_in_a_list_of_sentences_too(self, app: Flask) -> None:
        with reading(app, "de"):
            assert listed(Sentence("%(end)s end", end=end) for end in ("A", "B")) == (
                "Ende A und Ende B"
            )
            assert listed([1, 2]) == "1 und 2"
