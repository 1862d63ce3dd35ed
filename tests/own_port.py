"""A port for a server that another process begins in a moment."""

import socket

HERE = "127.0.0.1"


def own_port() -> int:
    """One that nobody else on this machine is given before this process ends.

    A port that was only looked for is free for everybody: between the look and the server's first
    moment, and between its end and its next start, it may become the near end of any connection,
    and who asks again and again whether somebody listens there may be connected to himself. Here it
    stays bound, and a server that reuses addresses, as all of ours do, may listen beside that.
    """
    with socket.socket() as kept:
        kept.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        kept.bind((HERE, 0))
        port: int = kept.getsockname()[1]
        kept.detach()
    return port
