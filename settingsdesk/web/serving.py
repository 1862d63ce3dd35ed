"""The server: connections in, requests on to the application."""

from socket import socket
from typing import TYPE_CHECKING, Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer
from waitress.task import WSGITask

from settingsdesk.web.frame.hosts import LOCAL_ADDRESS

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication

THREADS = 8


class Asked(WSGITask):
    """One request, which the application is also told at which address of this machine it came."""

    channel: "Connection"

    def get_environment(self) -> dict[str, Any]:
        """What WSGI says of a request."""
        environ = super().get_environment()
        environ[LOCAL_ADDRESS] = self.channel.local_address
        return environ


class Connection(HTTPChannel):
    """One connection of a client."""

    task_class = Asked

    def __init__(self, server: "Server", sock: socket, *of_waitress: Any, **more: Any) -> None:
        super().__init__(server, sock, *of_waitress, **more)
        self.local_address: str = sock.getsockname()[0]


class Server(TcpWSGIServer):
    """Waitress's server, on a socket that listens already."""

    channel_class = Connection

    def __init__(self, application: "WSGIApplication", listening: socket):
        adjustments = Adjustments(
            sockets=[listening],
            threads=THREADS,
            asyncore_use_poll=True,
            # Of what a server in front says, web/frame/hosts.py decides what is believed.
            clear_untrusted_proxy_headers=False,
            ident=None,
        )
        about = (listening.family, listening.type, listening.proto, listening.getsockname())
        super().__init__(
            application, {}, True, listening, adj=adjustments, sockinfo=about, bind_socket=False
        )
