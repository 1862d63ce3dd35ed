"""What a device is called in the list of those on which somebody is signed in."""

import pytest
from flask import Flask

from settingsdesk.web.accounts.device import device


class TestTheName:
    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ("(Android 14; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0", "Firefox, Android"),
            ("(iPhone; CPU iPhone OS 18_0 like Mac OS X) Safari/604.1", "Safari, iPhone"),
            ("(Windows NT 10.0) Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0", "Edge, Windows"),
            ("curl/8.5.0", "Another browser"),
            ("", "Another browser"),
        ],
    )
    def test_is_what_its_owner_would_say(self, app: Flask, told: str, words: str) -> None:
        with app.test_request_context(headers={"User-Agent": told}):
            assert device() == words
