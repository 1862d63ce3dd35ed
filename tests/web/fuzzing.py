"""Requests that nobody means to send, from everybody who can reach a desk.

``Fuzz.go`` sends them one after the other: addresses of the application's own table with numbers of
ours, of another club's and of nobody's, with questions, cookies, heads and bodies that no browser
writes. Half of them are forms, as they stood on a page that was read before, with something about
them spoilt. What is wrong with an answer stands in ``faults``: one of 500 and more, a page that
breaks a rule of all pages, a word of another club's, and an asking that changed the database.
"""

import re
from collections import Counter, deque
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from random import Random
from traceback import extract_tb
from urllib.parse import urljoin
from xml.etree.ElementTree import Element
from zipfile import ZipFile

import pypdfium2
from flask import Flask, got_request_exception
from flask.testing import FlaskClient
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from settingsdesk.desk.accounts import sign_ins
from settingsdesk.desk.accounts.accounts import new_account
from settingsdesk.desk.accounts.roles import Role
from settingsdesk.web.frame.work import OURS
from tests.conftest import Clock
from tests.databases import rows_in
from tests.desk.checks.pictures import jpeg, png
from tests.web.another_club import WORD, AnotherClub, put_another_club
from tests.web.every_address import QUESTIONS
from tests.web.every_press import LIST, SHEET
from tests.web.everybody import Hall, named
from tests.web.odd_requests import (
    BODIES,
    HEADS,
    KINDS,
    METHODS,
    PARTS,
    Form,
    Typed,
    body_of,
    question,
    spoilt,
    typed,
)
from tests.web.pages import (
    TOKEN,
    NotAGoodPage,
    Page,
    Reader,
    check,
    read,
    standing_in,
    standing_outside,
)
from tests.web.test_statements import Forms
from tests.web.whole_desk import OTHERWISE, SMALL

STRANGER, STATION = "stranger", "station"
WHO = (STRANGER, *(role.value for role in Role), STATION)
"""Everybody who can reach a desk."""

PART = re.compile(r"<(?:[^:<>]*:)?(\w+)>")
"""Of an address as a rule has it: what varies, by its name."""

LEADS_ON = (301, 303, 308)
BARE = '<meta name="viewport" content="width=device-width">'
"""What only a refusal has that comes before it is known who asks."""

FAULT = 500
AT_A_TIME = 60
"""So many requests go to a desk before it is laid back."""

PAUSE_S = 20.0
"""Passes between two requests, so that nobody is told to wait for having asked too often."""

FORMS_KEPT, LINKS_KEPT = 300, 3000
"""Of the pages that each of them, or all of them, read last."""

FILES: Sequence[tuple[bytes, str]] = (
    (LIST.encode(), "list.csv"),
    (SHEET.encode(), "squad.csv"),
    (b"11\n12\n13\n", "order.csv"),
    (b'{"settingsdesk": 1, "apparatus": [{}, null, 1e999]}', "sheet.json"),
    (jpeg(), "photo.jpg"),
    (png(), "photo.png"),
)
"""Files that are well; templates that the desk gives away come to them."""

TABLES_OF_COUNTS = frozenset({"failed_try"})
"""What an asking may change: the tries of a key in an address are counted."""

COUNTED_BY_ASKING = {"sign_in": ("seen_at",)}
"""And the columns of others: when somebody was here last."""


@dataclass
class Fuzz:
    """Everybody at one desk, with what they have read there so far."""

    hall: Hall
    other: AnotherClub
    clock: Clock
    chance: Random
    states: Sequence[str]
    stamps: Mapping[str, Mapping[str, str]]
    pressed: Sequence[tuple[str, Form]] = ()
    """Presses of every kind, each with the state of the desk in which it was made."""

    looked_at: float = 1.0
    """The share of pages that are held to the rules of all pages; the rest is only read for forms.
    """

    counted: Counter[tuple[str, str, int]] = field(default_factory=Counter)
    """How many answers there were, by who asked, the kind of method, and status."""

    faults: list[str] = field(default_factory=list)
    _clients: dict[str, FlaskClient] = field(default_factory=dict)
    _tokens: dict[str, str] = field(default_factory=dict)
    _forms: dict[str, deque[Form]] = field(default_factory=dict)
    _links: deque[str] = field(default_factory=lambda: deque(maxlen=LINKS_KEPT))
    _names: list[str] = field(default_factory=lambda: ["q", "then", "next", "page"])
    _files: list[tuple[bytes, str]] = field(default_factory=lambda: list(FILES))
    _content: str = ""
    _theirs: str = ""
    _seen: tuple[int, ...] = ()
    _raised: list[BaseException] = field(default_factory=list)

    @property
    def app(self) -> Flask:
        """The application that is asked."""
        return self.hall.desk.app

    def go(self, requests: int) -> None:
        """Send so many."""
        rules = [rule for rule in self.app.url_map.iter_rules() if not rule.alias]
        got_request_exception.connect(self._note, self.app)
        for number in range(requests):
            if number % AT_A_TIME == 0:
                self._lay(self.chance.choice(self.states))
            who = self.chance.choice(WHO)
            draw = self.chance.random()
            if draw < 0.5:
                self._ask(who, self.chance.choice(rules))
            elif draw < 0.58 and self.pressed:
                state, form = self.chance.choice(self.pressed)
                self._lay(state)
                self._send(who, form)
            else:
                forms = self._forms.get(who) or self._forms.get(self.chance.choice(WHO))
                if forms:
                    self._send(who, self.chance.choice(forms))
                else:
                    self._ask(who, self.chance.choice(rules))
        got_request_exception.disconnect(self._note, self.app)

    def _note(self, _app: Flask, exception: BaseException) -> None:
        self._raised.append(exception)

    def _lay(self, state: str) -> None:
        """The desk as it was in that state, and nobody with another cookie than then."""
        desk = self.hall.desk
        self.app.extensions[OURS].searches.close()
        desk.lay(state)
        self._clients.clear()
        self._tokens.clear()
        self._content, self._theirs = self._now()

    def _now(self) -> tuple[str, str]:
        """What the database holds: all of it but the counts, and what is the other club's."""
        self._seen = self.hall.desk.written()
        every, theirs = sha256(), sha256()
        for table, rows in rows_in(self.hall.desk.club.data.where).items():
            if table in TABLES_OF_COUNTS:
                continue
            counted = COUNTED_BY_ASKING.get(table, ())
            for row in rows:
                told = repr([one for name, one in row.items() if name not in counted]).encode()
                every.update(told)
                if row.get("club_id") == self.other.club_id:
                    theirs.update(told)
        return every.hexdigest(), theirs.hexdigest()

    def _client(self, who: str) -> FlaskClient:
        if who not in self._clients:
            client = self.app.test_client()
            if who in self.stamps:
                with client.session_transaction() as cookie:
                    cookie.update(self.stamps[who])
            self._clients[who] = client
        return self._clients[who]

    def _token(self, who: str) -> str:
        if who not in self._tokens:
            asked = {STRANGER: "/sign-in", STATION: "/station"}.get(who, "/account")
            found = TOKEN.search(self._client(who).get(asked).text)
            self._tokens[who] = found[0] if found else ""
        return self._tokens[who]

    def _address(self, rule: Rule) -> str:
        """Of something of ours, of the other club's, or of nothing."""
        parts = {}
        otherwise = OTHERWISE.get(rule.endpoint, OTHERWISE.get(rule.endpoint.partition(".")[0], {}))
        for name in rule.arguments:
            ours = self.hall.desk.ids.get(otherwise.get(name, name), "none")
            theirs = self.other.numbers.get(name) or [999]
            odd = self.chance.choice(PARTS)
            parts[name] = str(
                self.chance.choice((ours, ours, ours, self.chance.choice(theirs), odd))
            )
        return PART.sub(lambda part: parts[part[1]], rule.rule)

    def _ids(self) -> Sequence[int]:
        """Numbers of a few things of ours and of the other club's."""
        theirs = [number for numbers in self.other.numbers.values() for number in numbers[:3]]
        return [*range(1, 12), *theirs, -1, 0]

    def _ask(self, who: str, rule: Rule) -> None:
        """An address of that rule, by any method that it takes or does not."""
        methods = [one for one in ("GET", "GET", "GET", "POST") if one in (rule.methods or ())]
        method = self.chance.choice(methods or ["GET"])
        if self.chance.random() < 0.12:
            method = self.chance.choice(METHODS)
        address = self._address(rule)
        usual = QUESTIONS.get(named(rule), "")
        if method != "POST" and self._links and self.chance.random() < 0.3:
            address, _, usual = self.chance.choice(self._links).partition("?")
        asked = question(self.chance, self._names, usual, self._ids())
        if asked:
            address += f"?{asked}"
        if method == "POST":
            fields: tuple[tuple[str, Typed], ...] = (("csrf_token", self._token(who).encode()),)
            fields += tuple(
                (self.chance.choice(self._names), typed(self.chance, self._ids())) for _ in range(3)
            )
            self._send(who, Form(address, fields))
            return
        self.request(who, method, address)

    def _send(self, who: str, form: Form) -> None:
        token = self._token(who).encode()
        fields = []
        for name, value in form.fields:
            if name == "csrf_token":
                fields.append((name, token))
            elif isinstance(value, tuple):
                fields.append((name, self.chance.choice((value, value, *self._files))))
            else:
                fields.append((name, value))
        odd = spoilt(Form(form.address, tuple(fields)), self.chance, self._names, self._ids())
        body, kind = body_of(odd)
        if self.chance.random() < 0.06:
            kind = self.chance.choice(KINDS)
        if self.chance.random() < 0.06:
            body = self.chance.choice((*BODIES, body[: self.chance.randrange(len(body) + 1)]))
        self.request(who, "POST", odd.address, data=body, content_type=kind)

    def request(self, who: str, method: str, address: str, **sent: object) -> None:
        """Send one, and look at what came of it."""
        self.clock.seconds += PAUSE_S
        heads = [self.chance.choice(HEADS)] if self.chance.random() < 0.08 else []
        self._raised.clear()
        told = f"{who} {method} {address[:200]} {heads or ''} {repr(sent)[:300] if sent else ''}"
        try:
            answer = self._client(who).open(
                address, method=method, headers=heads, buffered=True, **sent
            )
        except Exception as raised:  # whatever it is, a person would read of a fault
            self.counted[who, method, FAULT] += 1
            self.faults.append(f"{told}: {_told(raised)}")
            return
        self.counted[who, method, answer.status_code] += 1
        if answer.status_code >= FAULT:
            why = "".join(map(_told, self._raised))
            self.faults.append(f"{told}: answered {answer.status_code} {why}")
        if "Location" in answer.headers:
            self._links.append(answer.headers["Location"])
        self._look_at(who, answer, told)
        self._look_behind(method, told)

    def _look_at(self, who: str, answer: TestResponse, told: str) -> None:
        if WORD.lower() in _words(answer).lower():
            self.faults.append(f"{told}: a word of another club's")
        if answer.mimetype == "text/html" and answer.status_code < FAULT:
            page = Page(Reader(self.app), answer, roughly(answer.text))
            is_page = answer.status_code not in LEADS_ON and answer.text and BARE not in answer.text
            if is_page and self.chance.random() < self.looked_at:
                try:
                    check(Page(page.reader, answer, read(answer.text)))
                except NotAGoodPage as wrong:
                    self.faults.append(f"{told}: {str(wrong)[:300]}")
            self._gather(who, page)
        elif (answer.status_code == 200 and "sheetml" in answer.mimetype) or answer.is_json:
            self._files = [*self._files[-12:], (answer.data, "list.xlsx")]

    def _gather(self, who: str, page: Page) -> None:
        """Remember the forms of a page that somebody could press, and where it leads."""
        links = [link.get("href", "") for link in page.tree.iter("a")]
        self._links.extend(link for link in links if link.startswith("/"))
        forms = self._forms.setdefault(who, deque(maxlen=FORMS_KEPT))
        for form in page.tree.iter("form"):
            if form.get("method") == "post":
                forms.append(pressed := self._pressed(page, form))
                found = {*self._names, *(name for name, _ in pressed.fields)} - {"csrf_token"}
                self._names = sorted(found)[-400:]

    def _pressed(self, page: Page, form: Element) -> Form:
        """What it sends where it stands as it does, a file is chosen, and some box is ticked."""
        fields: list[tuple[str, Typed]] = []
        standing = {**standing_in(form), **standing_outside(page.tree, form)}
        for name, value in standing.items():
            several = value if isinstance(value, list) else [value]
            fields += [(name, str(one).encode("utf-8", "replace")) for one in several]
        for box in form.iter("input"):
            if box.get("type") == "file":
                fields.append((box.get("name", ""), self.chance.choice(self._files)))
            elif box.get("type") in ("checkbox", "radio") and self.chance.random() < 0.3:
                fields.append((box.get("name", ""), box.get("value", "on").encode()))
        address = form.get("action") or page.address
        if buttons := list(form.iter("button")):
            button = self.chance.choice(buttons)
            address = button.get("formaction") or address
            if button.get("name"):
                fields.append((button.get("name", ""), button.get("value", "").encode()))
        return Form(urljoin(page.address, address), tuple(fields))

    def _look_behind(self, method: str, told: str) -> None:
        """Asking changes nothing, and nobody changes what is another club's."""
        if self.hall.desk.written() == self._seen:
            return
        content, theirs = self._now()
        if method not in ("POST",) and content != self._content:
            self.faults.append(f"{told}: changed the database")
        if theirs != self._theirs:
            self.faults.append(f"{told}: changed what is another club's")
        self._content, self._theirs = content, theirs


def roughly(text: str) -> Element:
    """The elements of a page, good or not."""
    parser = Forms()
    parser.feed(text)
    return parser.tree()


def _words(answer: TestResponse) -> str:
    """All that can be read of an answer: heads, and a paper or a workbook too."""
    content = answer.data
    words = str(answer.headers) + content.decode("utf-8", "replace")
    if content.startswith(b"%PDF"):
        with closing(pypdfium2.PdfDocument(content)) as paper:
            words += "".join(page.get_textpage().get_text_bounded() for page in paper)
    elif content.startswith(b"PK"):
        with ZipFile(BytesIO(content)) as book:
            words += "".join(book.read(name).decode("utf-8", "replace") for name in book.namelist())
    return words


def _told(raised: BaseException) -> str:
    where = [f"{Path(one.filename).name}:{one.lineno}" for one in extract_tb(raised.__traceback__)]
    return f"{type(raised).__name__}: {str(raised)[:200]} at {' '.join(where[-6:])}"


def everybody(hall: Hall, clock: Clock, seed: int) -> Fuzz:
    """Everybody at that desk, which another club shares from now on."""
    desk = hall.desk
    other = put_another_club(desk.club, desk.app)
    for name in ("run_id", "meet_run_id"):  # the one that is begun next
        desk.ids[name] = max(other.numbers["run_id"]) + 1
    stamps: dict[str, dict[str, str]] = {STATION: {"station": desk.stamps["station"]}}
    with desk.club.store.installation(writes=True) as session:
        for role in Role:
            name = f"the {role.value}"
            joined = new_account(session, desk.club.account.club_id, name, name, "-", role)
            stamps[role.value] = {"stamp": sign_ins.begin(session, joined).stamp}
    desk.keep(SMALL)
    chance = Random(seed)  # noqa: S311  # it keeps no secret
    return Fuzz(hall, other, clock, chance, (SMALL,), stamps)


def sent_with(address: str, values: Mapping[str, object]) -> Form:
    """What a press sends, kept to be sent again."""
    fields: list[tuple[str, Typed]] = []
    for name, value in values.items():
        if isinstance(value, tuple):
            stream, file_name = value
            fields.append((name, (stream.getvalue(), file_name)))
        else:
            several = value if isinstance(value, list) else [value]
            fields += [(name, str(one).encode("utf-8", "replace")) for one in several]
    return Form(address, tuple(fields))
