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
        """The model that a title names; the longest name, where one is a part of another.

        None where it names several that are not: nobody can tell which of them is meant.
        """
        folded = folded_name(title)
        found = [key for key in self._names if len(key) >= SHORTEST_IN_A_TITLE and key in folded]
        longest = max(found, key=len, default="")
        return self._names[longest] if longest and all(key in longest for key in found) else None


@lru_cache(maxsize=4096)
def folded_name(text: str) -> str:
    """Letters and figures alone, without case, accents and width."""
    apart = unicodedata.normalize("NFKD", text).casefold()
    return "".join(sign for sign in apart if sign.isalnum())
