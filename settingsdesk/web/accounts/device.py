"""What the device is that asks, in a word or two that its owner knows it by."""

from flask import request

BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung browser"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)
"""What stands in the header of a browser, the more special before what others claim as well."""
MACHINES = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Mac OS", "Mac"),
    ("CrOS", "Chromebook"),
    ("Linux", "Linux"),
)


def device() -> str:
    """ "Firefox, Android"; what nobody knows is left out, and nothing of it is believed."""
    told = request.headers.get("User-Agent", "")
    known = (
        next((words for sign, words in signs if sign in told), "") for signs in (BROWSERS, MACHINES)
    )
    return ", ".join(filter(None, known)) or "Another browser"
