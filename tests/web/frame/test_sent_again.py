"""What was typed on a page that was open when somebody signed out is sent once more."""

import io

from tests.web.pages import Reader

OURS = {"Origin": "http://localhost"}
TYPED = {
    "csrf_token": "old",
    "given_name": "Lina",
    "family_name": 'O"Brook <b>',
    "group_name": "Minis",
}


class TestWhatWasTyped:
    def test_is_kept_over_a_sign_out_and_sent_by_whoever_signs_in_again(
        self, pages: Reader, stranger: Reader
    ) -> None:
        """Signed in somewhere else meanwhile, as by another tab of the same browser."""
        answer = stranger.client.post("/athletes/new", data=TYPED, headers=OURS)
        assert answer.status_code == 400
        assert "You are signed out" in answer.text

        answer = pages.client.post("/athletes/new", data=TYPED, headers=OURS)
        page = pages._page(answer)
        assert page.heading == "Send it once more"
        assert 'O"Brook <b>' not in pages.get("/athletes/").text

        page.send("Send it once more")
        assert 'O"Brook <b>' in pages.get("/athletes/").text

    def test_of_another_site_is_never_behind_a_button_of_ours(self, pages: Reader) -> None:
        for headers in (
            {},
            {"Origin": "null"},
            {"Origin": "https://evil.example"},
            {**OURS, "Sec-Fetch-Site": "cross-site"},
        ):
            answer = pages.client.post("/athletes/new", data=TYPED, headers=headers)

            assert answer.status_code == 400
            assert "This form is too old" in answer.text
            assert "Brook" not in answer.text

    def test_is_not_kept_of_passwords_and_files(self, pages: Reader) -> None:
        for address, typed in (
            ("/account", {"present": "slow rivers", "csrf_token": "old"}),
            ("/sheets/", {"sheet": (io.BytesIO(b"a;b"), "squad.csv"), "kind": "slow rivers"}),
        ):
            answer = pages.client.post(address, data=typed, headers=OURS)

            assert "This form is too old" in answer.text, address
            assert "slow rivers" not in answer.text
