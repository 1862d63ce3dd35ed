"""What has just been done, told on the next page, with the ways on that come next."""

from flask import flash


def tell(sentence: str, *ways: tuple[str, str]) -> None:
    """Put a banner on the next page; ``ways`` are addresses of our own with their words.

    A way on is flashed under its address as the category, which the layout draws as a link.
    """
    flash(sentence)
    for address, words in ways:
        flash(words, address)
