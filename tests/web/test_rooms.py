"""The pages in the head of every page."""

from tests.web.pages import Reader, words


class TestTheRooms:
    def test_the_head_says_where_one_is(self, pages: Reader) -> None:
        """On the first page of a room, below it, and outside all of them."""
        here = {
            address: [
                words(link)
                for link in pages.get(address).tree.iter("a")
                if link.get("aria-current")
            ]
            for address in ("/", "/athletes/", "/athletes/new", "/account")
        }

        assert here == {
            "/": ["Today"],
            "/athletes/": ["Athletes"],
            "/athletes/new": ["Athletes"],
            "/account": [],
        }
