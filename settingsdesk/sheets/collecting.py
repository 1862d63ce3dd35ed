"""Large lists without Python's search for circles, which costs as much as a fifth of reading them.

What is read of a file refers to nothing that refers back to it, and all of it stays until it is
read: every search would go through some hundred thousand objects and find nothing.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collecting() -> Iterator[None]:
    """A block, or a decorated function, of seconds in which no garbage in circles is looked for.

    It holds for the whole process. Whoever of several threads came first lets it go on again.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
