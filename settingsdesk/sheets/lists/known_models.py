"""The models that are known, found by their names without case, accents, width and blanks."""

import unicodedata
from collections import Counter
from collections.abc import Mapping
from functools import lru_cache

SHORTEST_IN_A_TITLE = 3  # letters; a shorter name would stand in other words by chance


class KnownModels:
    """The names of models with the keys of their kinds."""

    def __init__(self, kinds: Mapping[str, str]) -> None:
        self._kinds = dict(kinds)
        times = Counter(map(folded_name, kinds))
        self._names = {key: name for name in kinds if times[key := folded_name(name)] == 1}

    def named(self, text: str) -> str | None:
        """The model of that name; none where it is only like the names of several."""
        return text if text in self._kinds else self._names.get(folded_name(text))

    def kind_of(self, name: str) -> str | None:
        """The kind of that model."""
        return self._kinds.get(name)

    def within(self, title: str) -> str | None:
        """The model that a title names; the longest name, where one begins another."""
        folded = folded_name(title)
        found = [
            name
            for key, name in self._names.items()
            if len(key) >= SHORTEST_IN_A_TITLE and key in folded
        ]
        return max(found, key=len, default=None)


@lru_cache(maxsize=4096)
def folded_name(text: str) -> str:
    """Letters and figures alone, without case, accents and width."""
    apart = unicodedata.normalize("NFKD", text).casefold()
    return "".join(sign for sign in apart if sign.isalnum())
