"""The server as a process: on this machine only, until it is told to end."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from pondwright.base.errors import StoreError
from pondwright.server.app import make_app
from pondwright.server.messages import LONGEST_MESSAGE

LOOPBACK = ("127.0.0.1", "localhost")


def run_server(store_file: Path, port: int, ready: Callable[[str], None]) -> None:
    """Serve the jobs of a store on this machine until the process is told to end.

    Parameters
    ----------
    store_file : Path
        The SQLite file of the jobs; made when it is not there.
    port : int
        0 for any that is free.
    ready : callable
        Told the address as soon as it may be opened.

    Raises
    ------
    StoreError
        If the port is taken or the store cannot be opened.
    """
    door = open_door(port)
    with door:
        app = make_app(store_file)
        ready(f"http://{LOOPBACK[0]}:{door.getsockname()[1]}")
        uvicorn.Server(configured(app)).run(sockets=[door])


def configured(app: object) -> uvicorn.Config:
    """How the application is served: no compression on this machine, no news of each request.

    Parameters
    ----------
    app : FastAPI

    Returns
    -------
    uvicorn.Config
    """
    return uvicorn.Config(
        app,  # type: ignore[arg-type]
        ws="websockets-sansio",
        ws_per_message_deflate=False,
        ws_max_size=4 * LONGEST_MESSAGE,  # in bytes; a character takes four at most
        log_level="warning",
        server_header=False,
        timeout_graceful_shutdown=2,  # an open window must not keep the server from ending
    )


def open_door(port: int) -> socket.socket:
    """Socket of this machine that listens on a port.

    Parameters
    ----------
    port : int
        0 for any that is free.

    Returns
    -------
    socket

    Raises
    ------
    StoreError
        If the port is taken.
    """
    # Named as TCP, so that the event loop sends each message at once: small answers would else wait 40 ms.
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((LOOPBACK[0], port))
        door.listen(128)
    except OSError as fault:
        door.close()
        raise StoreError(
            f"port {port} cannot be used ({fault.strerror}): end the other program or take --port {port + 1}"
        ) from None
    return door
