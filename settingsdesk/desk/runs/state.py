"""One word for all that a page at the apparatus shows: another one as soon as it is untrue."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from hashlib import sha256

DIGITS = 16


def state_of(*shown: object) -> str:
    """A word that is another one whenever anything of what is shown is.

    Whatever a page is made from belongs in here, as values that say themselves in full: what
    nobody thought of (a withdrawal, a scale, a mat, a name) is in it then, too. The same records
    give the same word in every process that serves the desk, and after every restart.
    """
    return sha256(_said(shown).encode()).hexdigest()[:DIGITS]


def _said(value: object) -> str:
    """A value as its ``repr`` says it, but for sets: theirs is in another order in each process.

    What a class leaves out of its ``repr`` is left out here, too.
    """
    match value:
        case None | str() | int() | float():
            return repr(value)
        case set() | frozenset():
            return f"{{{','.join(sorted(map(_said, value)))}}}"
        case Mapping():
            return f"{{{','.join(f'{_said(key)}:{_said(part)}' for key, part in value.items())}}}"
        case tuple() | list():
            return f"({','.join(map(_said, value))})"
        case _ if is_dataclass(value):
            said = (_said(getattr(value, known.name)) for known in fields(value) if known.repr)
            return f"{type(value).__name__}({','.join(said)})"
        case _:
            return repr(value)
