"""One word for all that a page at the apparatus shows: another one as soon as it is untrue."""

from hashlib import sha256

DIGITS = 16


def state_of(*shown: object) -> str:
    """A word that is another one whenever anything of what is shown is.

    Whatever a page is made from belongs in here, as values that say themselves in full: what
    nobody thought of (a withdrawal, a scale, a mat, a name) is in it then, too. The same records
    give the same word in every process that serves the desk.
    """
    return sha256(repr(shown).encode()).hexdigest()[:DIGITS]
