"""Under which names the desk answers, and by what it was reached.

The Host of a request is what its sender says. A page of another site can have a browser ask this
desk under a name of its own (its name server leads it here), and would then read the answers. So a
request under a name that is not the desk's is answered before anything is looked up.
"""

import re
import socket
from collections.abc import Iterable
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from werkzeug.middleware.proxy_fix import ProxyFix

from settingsdesk.config import LOOPBACK, Front, host_name
from settingsdesk.domain.base.sentences import Sentence
from settingsdesk.web.frame.bare_page import bare_page

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment


LOCAL_ADDRESS = "SERVER_ADDR"
"""Where the server says to which address of this machine a request came."""

HOST = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[^\[\]:,\s]+)(?::([0-9]{1,5}))?")
HIGHEST_PORT = 65535

HEADING = Sentence("The desk does not answer at this address")
WAY_ON = Sentence(
    "Use the address that the coach gave you, or scan the code again. Whoever starts the desk can"
    " add an address to those that it answers at (settingsdesk serve --name)."
)


def own_names(listening: str) -> frozenset[str]:
    """What this machine is called by those who can reach the address that is listened on.

    On the local network that is its name, also as a machine is found there without a name server
    (RFC 6762: "name.local"). The addresses are told request by request, by ``LOCAL_ADDRESS``.
    """
    name = host_name(listening)
    if name in LOOPBACK:
        return LOOPBACK
    machine = socket.gethostname()
    first = machine.partition(".")[0]
    called = (host_name(one) for one in (listening, machine, first, f"{first}.local"))
    return LOOPBACK | {one for one in called if one}


def names_in(address: str) -> frozenset[str]:
    """The name in an address of the desk."""
    name = host_name(urlsplit(address).hostname or "")
    return frozenset({name} if name else ())


class KnownHosts:
    """Lets a request through where it asks for the desk by one of its names, and refuses others."""

    def __init__(self, application: "WSGIApplication", names: Iterable[str]):
        """``names`` as ``host_name`` spells them."""
        self._application, self._names = application, frozenset(names)

    def __call__(
        self, environ: "WSGIEnvironment", start_response: "StartResponse"
    ) -> Iterable[bytes]:
        known = self._names | {str(environ.get(LOCAL_ADDRESS))}
        if all(host_asked(host) in known for host in _hosts(environ)):
            return self._application(environ, start_response)
        return bare_page(400, HEADING, WAY_ON)(environ, start_response)


def _hosts(environ: "WSGIEnvironment") -> list[str]:
    """What a request says it asks: its Host, and what a whole address in its first line names.

    RFC 9112, 3.2.2 lets the first line win; here both must be right. Two Hosts come as one with a
    comma, which is no name.
    """
    host, asked = str(environ.get("HTTP_HOST", "")), str(environ.get("REQUEST_URI", "/"))
    if asked.startswith("/") or "://" not in asked:
        return [host]
    return [host, re.split("[/?#]", asked.partition("://")[2])[0]]


def host_asked(host: str) -> str | None:
    """The name or address in a Host, in its one spelling; None where it is none.

    Any port goes: a desk behind another server or a router is asked by another than its own.
    """
    found = HOST.fullmatch(host)
    if found is None or not 0 < int(found[2] or HIGHEST_PORT) <= HIGHEST_PORT:
        return None
    return host_name(found[1])


class ReachedByHttps:
    """Says of every request that it came by https: the server in front ended it."""

    def __init__(self, application: "WSGIApplication"):
        self._application = application

    def __call__(
        self, environ: "WSGIEnvironment", start_response: "StartResponse"
    ) -> Iterable[bytes]:
        environ["wsgi.url_scheme"] = "https"
        return self._application(environ, start_response)


def in_front(
    application: "WSGIApplication", front: Front, names: Iterable[str]
) -> "WSGIApplication":
    """The application as it is asked through what stands in front of it.

    Of what servers in front say, the client's address and the scheme are believed, from as many as
    there are; the name never, since it is they that pass it on in Host.
    """
    asked: WSGIApplication = KnownHosts(application, [*names, *front.names])
    if front.https:
        asked = ReachedByHttps(asked)
    if front.behind:
        asked = ProxyFix(asked, x_for=front.behind, x_proto=front.behind, x_host=0, x_port=0)
    return asked
