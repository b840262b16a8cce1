"""Serves the pages: one process, 32 threads, on a socket that lets go of phones that walked out of the Wi-Fi."""

import logging
import socket
import threading

from flask import Flask
from waitress.server import create_server

THREADS = 32  # of which at most 20 are held by streams
LOST_PHONE_MS = 15_000  # unacknowledged data for so long ends a connection; the kernel alone takes about 15 min
BODY_BYTES = 256 * 1024
MOST_CONNECTIONS = 500  # 20 phones keep six open each, and whoever comes to stop must still be let in
IDLE_S = 60  # an open connection that says nothing is closed; a stream is none
WAITING = 128  # connections that may wait from the moment the address is told


def listen(host: str, port: int) -> socket.socket:
    """Bind the socket; port 0 takes a free one. Connections inherit its time limit.

    Raises:
        OSError: the address is taken or not ours.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, LOST_PHONE_MS)
        listener.bind((host, port))
        listener.listen(WAITING)
    except OSError:
        listener.close()
        raise
    return listener


def serve(app: Flask, listener: socket.socket, *, behind_proxy: bool = False) -> None:
    """Answer until the process is told to end. behind_proxy: believe one on this machine who asks, and how."""
    proxy = {"trusted_proxy": "127.0.0.1", "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"}}
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    server = create_server(
        app,
        sockets=[listener],
        threads=THREADS,
        max_request_body_size=BODY_BYTES,
        connection_limit=MOST_CONNECTIONS,
        channel_timeout=IDLE_S,
        asyncore_use_poll=True,  # select() takes no more than 1024 files
        log_socket_errors=False,  # one traceback for each phone that walked out of the Wi-Fi
        clear_untrusted_proxy_headers=True,
        **(proxy if behind_proxy else {}),
    )
    threading.Thread(target=_read_templates, args=(app,), name="templates", daemon=True).start()
    try:
        server.run()
    finally:
        server.close()


def _read_templates(app: Flask) -> None:
    """Compile the templates before somebody asks for a page: on a small computer the first visitor waited for that."""
    names = app.jinja_env.list_templates()
    for name in sorted(names, key=lambda each: (not each.startswith(("base", "now", "parts", "regions")), each)):
        app.jinja_env.get_template(name)
