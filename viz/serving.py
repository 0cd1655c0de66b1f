"""What pages served on this machine have in common: 127.0.0.1 and nowhere else, behind an unguessable address.

Host and Origin are checked, so that no other page in the browser can reach them; nothing is kept by the browser.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any, TypeVar

import uvicorn
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from scenes.numbers import rounded
from viz.words.locale import Locale

LARGEST_MESSAGE = 16 * 1024
"""Bytes of one message from the page; what it has to say is a few hundred."""
HEADERS = {
    "cache-control": "no-store",
    "x-frame-options": "DENY",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
"""What goes with every page and file: not kept, not framed, not read by any other."""

Answer = TypeVar("Answer")


class Guard:
    """Lets through only requests that are for this server by name and come from its own page."""

    def __init__(self, app: ASGIApp, port: int) -> None:
        self.app = app
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.origins = {f"http://{host}" for host in self.hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = [(name.decode("latin-1"), value.decode("latin-1")) for name, value in scope["headers"]]
        hosts = [value for name, value in headers if name == "host"]
        origins = [value for name, value in headers if name == "origin"]
        right = (
            len(hosts) == 1 and hosts[0] in self.hosts and all(origin in self.origins for origin in origins)
        )
        # a browser always says where a websocket comes from
        if scope["type"] == "websocket":
            right = right and len(origins) == 1
        if right:
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await PlainTextResponse(Locale("m").say("live.wrong address") + "\n", 403)(scope, receive, send)


async def tell(socket: WebSocket, message: dict[str, Any]) -> None:
    """Send a message to a page; one that has gone away is no trouble."""
    with suppress(WebSocketDisconnect, RuntimeError):
        await socket.send_text(json.dumps(rounded(message), ensure_ascii=False, separators=(",", ":")))


def aside(work: Callable[[], Answer]) -> Awaitable[Answer]:
    """The result of `work`, done in a thread of its own that does not keep the program from ending."""
    loop = asyncio.get_running_loop()
    future: asyncio.Future[Answer] = loop.create_future()

    def settle(set_it: Callable[[Any], None], value: object) -> None:
        if not future.done():
            set_it(value)

    def run() -> None:
        try:
            settled: tuple[Callable[[Any], None], object] = (future.set_result, work())
        except BaseException as reason:
            settled = (future.set_exception, reason)
        with suppress(RuntimeError):  # the server may have stopped meanwhile
            loop.call_soon_threadsafe(settle, *settled)

    threading.Thread(target=run, daemon=True).start()
    return future


def serve_on(
    made: Callable[[int, str], ASGIApp],
    port: int,
    open_browser: bool,
    *,
    name: str,
    token: str | None = None,
    ready: Callable[[str], None] | None = None,
) -> None:
    """Serve on 127.0.0.1 until Ctrl-C what `made` makes for a port and a token. Raises OSError if the port is taken.

    `port` 0 takes a free one. The address, with its token, is printed as that of `name` and opened in the browser;
    `ready` is called with it once it can be opened.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.bind(("127.0.0.1", port))
    bound = listening.getsockname()[1]
    token = token or secrets.token_urlsafe(24)
    address = f"http://127.0.0.1:{bound}/{token}/"
    locale = Locale("m")
    app = made(bound, token)

    def started() -> None:
        print(locale.say("live.at", file=name, address=address), file=sys.stderr)
        if open_browser:
            webbrowser.open(address)
        if ready:
            ready(address)

    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        ws="websockets-sansio",
        ws_max_size=LARGEST_MESSAGE,
        timeout_graceful_shutdown=1,
    )
    running = _Uvicorn(config, started)
    try:
        running.run(sockets=[listening])
    except KeyboardInterrupt:
        pass
    finally:
        listening.close()
        print(locale.say("live.stopped"), file=sys.stderr)


class _Uvicorn(uvicorn.Server):
    def __init__(self, config: uvicorn.Config, started: Callable[[], None]) -> None:
        super().__init__(config)
        self.when_started = started

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        self.when_started()
