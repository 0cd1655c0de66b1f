"""The rooms of a folder, served on this machine only, following the files; each room's live page under its own path.

What is asked over the line is answered by the same code as every command. Nothing outside the folder is listed, read
or written, and nothing is uploaded: the page and the files are on the same machine.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket, WebSocketDisconnect
from watchfiles import awatch

from scenes.spec import undoing
from scenes.spec.mistakes import SpecMistakes, WriteRefused
from scenes.spec.writing import keep, take_back
from viz import live
from viz.html import rendered
from viz.live import Refused, refused
from viz.page import embedded, policy_of, root_colours
from viz.refusals import Refusal
from viz.serving import HEADERS, Guard, aside, serve_on, tell
from viz.start import documents, rooms
from viz.start.form import Form
from viz.start.jobs import Job, Work
from viz.start.searching import AIMS
from viz.words import start as words
from viz.words.locale import Locale
from viz.words.mistakes import text_of

MOST_PAGES = 8
"""Tabs served at once."""

Message = dict[str, Any]
Talker = Callable[["Start", WebSocket, Message], Awaitable[Message | None]]


class Start:
    """The open tabs, the folder they show, and the rooms opened from it."""

    def __init__(self, folder: Path, port: int, token: str) -> None:
        self.folder, self.port, self.token = folder.resolve(), port, token
        self.tabs: set[WebSocket] = set()
        self.rooms: dict[str, live.Server] = {}
        self.tasks: set[asyncio.Task[None]] = set()
        self.cards: dict[str, rooms.Known] = {}
        self.work = Work()
        self.offers: dict[tuple[str, str], tuple[str | None, str]] = {}
        """By room and aim the text that was shown to be written (None: it must not be), and the one it was made from."""
        self.taken_back: set[str] = set()
        """Rooms whose last change was undone: once more, and it is written again."""
        self.stop = asyncio.Event()

    def app(self) -> ASGIApp:
        """The application, all of it behind the token."""
        base = f"/{self.token}"
        routes = [
            Route(f"{base}/", self.page),
            WebSocketRoute(f"{base}/talk", self.talk),
            Route(f"{base}/room/{{name:path}}/", self.room),
            WebSocketRoute(f"{base}/room/{{name:path}}/talk", self.talk_in_room),
            Route(f"{base}/made/{{name:path}}", self.made),
        ]
        return Guard(Starlette(routes=routes, lifespan=self.lifespan), self.port)

    @asynccontextmanager
    async def lifespan(self, app: Starlette) -> AsyncIterator[None]:
        """Follow the folder as long as the server runs."""
        self.begin(self.follow())
        yield
        self.stop.set()
        for server in self.rooms.values():
            server.stop.set()
        for task in self.tasks:
            task.cancel()

    def begin(self, work: Any) -> asyncio.Task[None]:
        """Do something beside all else, until it ends or the server does."""
        task: asyncio.Task[None] = asyncio.create_task(work)
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)
        return task

    # ---------------------------------------------------------------- pages

    async def page(self, request: Request) -> HTMLResponse:
        """The page of the folder."""
        html = await aside(lambda: start_page(self.folder, self.port))
        return HTMLResponse(html, headers=HEADERS)

    async def room(self, request: Request) -> Response:
        """The live page of one room."""
        try:
            server = await self.opened(request.path_params["name"])
        except (Refused, SpecMistakes, ValueError, OSError) as error:
            return PlainTextResponse(text_of(error) + "\n", 404, headers=HEADERS)
        return await server.page(request)

    async def made(self, request: Request) -> Response:
        """A file of a room's documents."""
        try:
            path = await aside(lambda: documents.made_file(self.folder, request.path_params["name"]))
        except (Refused, OSError) as error:
            return PlainTextResponse(text_of(error) + "\n", 404, headers=HEADERS)
        headers = {**HEADERS, **documents.headers_for(path, download="download" in request.query_params)}
        return FileResponse(path, headers=headers)

    async def talk_in_room(self, socket: WebSocket) -> None:
        """The line of one room's live page."""
        try:
            server = await self.opened(socket.path_params["name"])
        except (Refused, SpecMistakes, ValueError, OSError):
            await socket.close(1008)
            return
        await server.talk(socket)

    async def opened(self, name: str) -> live.Server:
        """The server of one room, begun when it is first asked for. Raises what reading the file raises."""
        path = await aside(lambda: rooms.room_of(self.folder, name))
        known = path.relative_to(self.folder).as_posix()
        if known not in self.rooms:
            server = await aside(lambda: live.Server(path, self.port, self.token, f"/{self.token}/"))
            if known not in self.rooms:
                self.rooms[known] = server
                self.begin(server.follow())
        return self.rooms[known]

    # ---------------------------------------------------------------- the line

    async def talk(self, socket: WebSocket) -> None:
        """Answer one tab until it goes away; a message that cannot be understood is refused, no more."""
        if len(self.tabs) >= MOST_PAGES:
            await socket.close(1013)
            return
        await socket.accept()
        self.tabs.add(socket)
        try:
            await self.show(socket)
            while True:
                await self.hear(socket, await socket.receive_text())
        except (WebSocketDisconnect, RuntimeError):
            pass
        finally:
            self.tabs.discard(socket)
            await self.work.stop(socket)

    async def hear(self, socket: WebSocket, raw: str) -> None:
        """Answer one message."""
        seq: object = None
        try:
            message = json.loads(raw)
            if not isinstance(message, dict):
                raise Refused("live.refused.object")
            seq = message.get("seq")
            talker = TALKERS.get(str(message.get("kind")))
            if talker is None:
                raise Refused("live.refused.kind")
            answer = await talker(self, socket, message)
        except (
            Refused,
            SpecMistakes,
            WriteRefused,
            OSError,
            ValueError,
            KeyError,
            TypeError,
            RecursionError,
        ) as reason:
            answer = refused(reason)
        if answer is not None:
            await tell(socket, {**answer, "seq": seq})

    # ---------------------------------------------------------------- the folder

    async def show(self, socket: WebSocket) -> None:
        """Every card of the folder, each as soon as it is known."""
        names = await aside(lambda: rooms.specs_of(self.folder))
        known = [self.card(name) for name in names]
        await tell(socket, {"kind": "folder", "cards": known})
        for name in names:
            await self.tell_card(name, [socket])

    async def tell_card(self, name: str, to: list[WebSocket]) -> None:
        """One card, made anew if its files are not as they were."""
        if name not in self.cards or not await aside(lambda: self.cards[name].fresh):
            self.cards[name] = await aside(lambda: rooms.known(self.folder, name))
        for socket in to:
            await tell(socket, {"kind": "card", "card": self.card(name)})

    def card(self, name: str) -> Message:
        """A room's card as it is known, and whether a change can be undone or written again."""
        if name not in self.cards:
            return rooms.waiting(name)
        made = self.cards[name].card
        undo = ("redo" if name in self.taken_back else "undo") if made["undo"] else None
        return {**made, "undo": undo}

    async def follow(self) -> None:
        """Show every tab the folder anew whenever a file in it changes."""
        async for found in awatch(self.folder, stop_event=self.stop, debounce=120, step=30):
            if any(Path(name).suffix.lower() in (*rooms.ENDINGS, undoing.ENDING) for _, name in found):
                names = await aside(lambda: rooms.specs_of(self.folder))
                self.cards = {name: self.cards[name] for name in names if name in self.cards}
                await asyncio.gather(*map(self.show, list(self.tabs)))


async def _form(start: Start, socket: WebSocket, message: Message) -> Message:
    """The form of a new room with these answers."""
    return await aside(lambda: Form(start.folder, message.get("answers")).message())


async def _create(start: Start, socket: WebSocket, message: Message) -> Message:
    """A new room written."""
    return await aside(lambda: Form(start.folder, message.get("answers")).write())


async def _place(start: Start, socket: WebSocket, message: Message) -> Message:
    """A search begun; its progress and its answer come later."""
    path = await aside(lambda: rooms.room_of(start.folder, message.get("room")))
    aim = message.get("aim") or ""
    if aim not in ("", *AIMS):
        raise Refused("live.refused.kind")
    name = path.relative_to(start.folder).as_posix()
    job = start.work.take(socket, Job("viz.start.searching", [name, name, aim], start.folder))

    async def out(line: str) -> None:
        told = json.loads(line)
        if told["kind"] == "placement":
            start.offers[name, aim] = (told.pop("text"), told.pop("before"))
        await tell(socket, {**told, "room": name, "aim": aim})

    async def search() -> None:
        try:
            status = await job.run(out, _unheard)
        finally:
            start.work.done(socket)
        if job.stopped or status not in (0, 2):
            await tell(socket, {"kind": "stopped", "room": name, "aim": aim})

    start.begin(search())
    return {"kind": "begun", "command": rooms.command("place", name, *(("--aim", aim) if aim else ()))}


async def _documents(start: Start, socket: WebSocket, message: Message) -> Message:
    """Every kind of document of a room, as it stands."""
    path = await aside(lambda: rooms.room_of(start.folder, message.get("room")))
    paper = message.get("paper") or ""
    return await aside(
        lambda: documents.overview(start.folder, path, paper if paper in documents.PAPERS else "")
    )


async def _make(start: Start, socket: WebSocket, message: Message) -> Message:
    """Documents begun; each is told when it is made."""
    path = await aside(lambda: rooms.room_of(start.folder, message.get("room")))
    kinds, paper = documents.chosen(message)
    await aside(lambda: documents.prepare(start.folder, path))
    name = path.relative_to(start.folder).as_posix()
    jobs = {
        kind: Job("viz.commands", documents.arguments_for(kind, name, paper), start.folder) for kind in kinds
    }
    start.work.take(socket, jobs[kinds[0]])
    start.begin(_made(start, socket, path, paper, jobs))
    return {"kind": "begun"}


async def _made(
    start: Start, socket: WebSocket, path: Path, paper: str, jobs: dict[documents.Kind, Job]
) -> None:
    """Make one kind after the other, until all are made, one fails or the tab stops it."""
    name, why = path.relative_to(start.folder).as_posix(), ""
    try:
        for kind, job in jobs.items():
            start.work.jobs[socket] = job
            await tell(socket, {"kind": "making", "room": name, "what": kind})
            digest = await aside(lambda: documents.digest_of(path))
            if why := await _why_not_made(job):
                break
            await aside(partial(documents.record, path, kind, digest))
            await tell(socket, await aside(lambda: documents.overview(start.folder, path, paper)))
    except (OSError, Refusal) as error:
        why = text_of(error)
    finally:
        start.work.done(socket)
    said = why or Locale("m").say("start.label.all made")
    await tell(socket, {"kind": "made", "room": name, "said": said, "failed": bool(why)})


async def _why_not_made(job: Job) -> str:
    """Run a command to its end; why it made nothing, empty where it did."""
    heard: list[str] = []

    async def err(line: str) -> None:
        heard.append(line)

    status = await job.run(_unheard, err)
    if job.stopped:
        return Locale("m").say("start.label.stopped")
    # 1: made, and the review found a failure
    return "" if status in (0, 1) else words.failed(heard)


async def _stop(start: Start, socket: WebSocket, message: Message) -> Message:
    """What this tab has begun, stopped."""
    await start.work.stop(socket)
    return {"kind": "done"}


async def _write(start: Start, socket: WebSocket, message: Message) -> Message:
    """A placement written that was shown."""
    path = await aside(lambda: rooms.room_of(start.folder, message.get("room")))
    name = path.relative_to(start.folder).as_posix()
    text, before = start.offers.get((name, message.get("aim") or ""), (None, ""))
    if text is None:
        raise Refused("start.refused.not offered")
    await aside(lambda: keep(path, text, before))
    start.taken_back.discard(name)
    start.offers = {key: offer for key, offer in start.offers.items() if key[0] != name}
    return {"kind": "written", "said": Locale("m").say("start.label.written")}


async def _undo(start: Start, socket: WebSocket, message: Message) -> Message:
    """What was last written taken back, or written again."""
    path = await aside(lambda: rooms.room_of(start.folder, message.get("room")))
    name = path.relative_to(start.folder).as_posix()
    lines = await aside(lambda: take_back(path))
    again = name in start.taken_back
    start.taken_back ^= {name}
    said = Locale("m").say("start.redone" if again else "start.undone", file=name)
    return {"kind": "undone", "lines": lines, "said": said}


async def _unheard(line: str) -> None:
    """A line that nobody reads."""


TALKERS: dict[str, Talker] = {
    "form": _form,
    "create": _create,
    "place": _place,
    "documents": _documents,
    "make": _make,
    "stop": _stop,
    "write": _write,
    "undo": _undo,
}
"""Who answers which kind of message."""


def start_page(folder: Path, port: int) -> str:
    """The page itself: a frame, its script and its texts. What it shows comes over the line."""
    locale = Locale("m")
    name = folder.name or str(folder)
    given = {"folder": name, "words": words.labels(locale), "aims": words.aim_tabs(locale)}
    css, script = root_colours() + bundled("start.css"), bundled("start.js")
    return rendered(
        "start/page.html",
        locale,
        policy=Markup(policy_of(css, [script], f"ws://127.0.0.1:{port} ws://localhost:{port}")),
        css=Markup(css),
        title=locale.say("start.title", folder=name),
        licence=bundled("LICENSE-preact.txt"),
        given=Markup(embedded(given)),
        script=Markup(script),
    )


def bundled(name: str) -> str:
    """A file of the bundle."""
    return files("viz.start").joinpath("bundle", name).read_text("utf-8")


def serve(
    folder: str | Path,
    port: int = 0,
    open_browser: bool = True,
    *,
    token: str | None = None,
    ready: Callable[[str], None] | None = None,
) -> None:
    """Serve the rooms of a folder on 127.0.0.1 until Ctrl-C. Raises OSError if the port is taken."""
    folder = Path(folder).resolve()

    def made(bound: int, token: str) -> ASGIApp:
        return Start(folder, bound, token).app()

    serve_on(made, port, open_browser, name=folder.name or str(folder), token=token, ready=ready)
