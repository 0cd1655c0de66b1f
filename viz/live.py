"""The page served on this machine only, following the spec file; what-ifs answered by the same Python code.

Every change made on the page (an array dragged, raised, given another band, added) is reviewed by
`scenes.review.review` and pushed back. Served on 127.0.0.1 and nowhere else, behind an unguessable address; Host
and Origin are checked, so that no other page in the browser can reach it. The spec file is written only
after it was asked for twice, with the changed lines shown.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

import shapely
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket, WebSocketDisconnect
from watchfiles import awatch

from geometry.records import record
from scenes.dossier import Dossier
from scenes.findings.review import Review
from scenes.place.freest import freest
from scenes.room.build import build
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.model import Spec
from scenes.spec.reading import read_spec
from scenes.spec.writing import NewPlace, appended, changes, check_again, keep, spliced
from viz.gltf import screen_glb
from viz.page import Live, assembled, caution_parts, packed, sections
from viz.page.facts import facts, rings_over, what_is_so
from viz.page.slider import slider
from viz.refusals import Refusal
from viz.serving import HEADERS, Guard, aside, serve_on, tell
from viz.words import conflict
from viz.words import placement as placement_words
from viz.words import wishes as wish_words
from viz.words.locale import Locale
from viz.words.mistakes import text_of
from viz.words.page import made_by

MOST_PAGES = 8
"""Pages served at once: tabs of one designer."""
MOST_ARRAYS = 12
"""Arrays on the page, the spec's and the added ones."""

Message = dict[str, Any]


class Refused(Refusal):
    """The page asked for something that cannot be done: a message's name and its values.

    `quiet`: it happens while an array is dragged, and nothing is said of it.
    """

    def __init__(self, message: str, *, quiet: bool = False, **values: object) -> None:
        super().__init__(message, **values)
        self.quiet = quiet


@record(frozen=True, eq=False)
class Reading:
    """A spec file as last read without mistakes."""

    path: Path
    spec: Spec
    scene: Scene


def read(path: Path) -> Reading:
    """The spec file and its scene. Raises SpecMistakes."""
    spec = read_spec(path)
    return Reading(path, spec, build(spec))


@dataclass
class Desk:
    """One open page: the file as read, and the room as it stands on the page just now."""

    reading: Reading
    scene: Scene = field(init=False)
    offered: str | None = None
    """The text shown to the designer before it is written; None if none was."""
    layout: str | None = None
    """Which of several layouts is shown; None: the first."""

    def __post_init__(self) -> None:
        self.scene = self.reading.scene

    def follow(self, reading: Reading) -> None:
        """Take the file as it is now; what was tried on the page is put aside."""
        self.reading, self.scene, self.offered = reading, reading.scene, None
        self.show(self.layout if self.layout in reading.scene.layouts else None)

    def show(self, layout: Any) -> None:
        """Show another layout. Raises Refused where the room has no such."""
        if layout is not None and layout not in self.scene.layouts:
            raise Refused("use.no such layout", layout=layout, layouts=", ".join(self.scene.layouts))
        self.layout = layout

    def put(self, message: Message) -> None:
        """Move an array on plan, up or down, or give it another band. Raises Refused."""
        array = self._array(message)
        changed: dict[str, Any] = {}
        if "at_m" in message:
            at = message["at_m"]
            if not isinstance(at, list) or len(at) != 2:
                raise Refused("live.refused.place")
            x, y = (_number(v, "at_m") for v in at)
            if not shapely.Polygon(self.scene.room.outline_m).covers(shapely.Point(x, y)):
                raise Refused("live.refused.outside", quiet=True)
            changed["at_m"] = (x, y)
        if "height_m" in message and array.profile.mount == "pendant":
            low, high = height_span_m(self.scene, array)
            changed["height_m"] = min(max(_number(message["height_m"], "height_m"), low), high)
        if "band" in message:
            if message["band"] not in array.profile.bands:
                bands = Locale.of(self.scene).listed(list(array.profile.bands), 9)
                raise Refused("live.refused.band", array=array.id, bands=bands)
            changed["band_name"] = message["band"]
        self._use(tuple(replace(a, **changed) if a.id == array.id else a for a in self.scene.arrays))

    def add(self) -> str:
        """Hang another array like the last one, where most room is left; the id it got."""
        if len(self.scene.arrays) >= MOST_ARRAYS:
            raise Refused("live.refused.arrays", most=MOST_ARRAYS)
        if not self.scene.arrays or not self.scene.arrays[-1].placed:
            raise Refused("live.refused.unplaced")
        id = self.scene.fresh_array_id()
        at = freest(self.scene)
        self._use((*self.scene.arrays, replace(self.scene.arrays[-1], id=id, at_m=at, given_as="height")))
        return id

    def remove(self, message: Message) -> None:
        """Take away an array that was added on the page."""
        array = self._array(message)
        if array.id in {a.id for a in self.reading.scene.arrays}:
            raise Refused("live.refused.in spec", array=array.id)
        self._use(tuple(a for a in self.scene.arrays if a.id != array.id))

    def use_placed(self, placed: Scene) -> None:
        """Take the arrays of a placed scene."""
        self._use(placed.arrays)

    def reset(self) -> None:
        """Back to what the file says."""
        self._use(self.reading.scene.arrays)

    @property
    def changed(self) -> bool:
        """Whether the page shows anything else than the file."""
        return self.scene.arrays != self.reading.scene.arrays

    def text_to_write(self) -> str:
        """The spec's text with the arrays as they stand on the page. Raises SpecMistakes, WriteRefused."""
        spec = self.reading.spec
        there = {a.id for a in spec.arrays}
        places = {a.id: _place(a) for a in self.scene.arrays if a.placed}
        own = {id: place for id, place in places.items() if id in there}
        text = spliced(spec, own)
        check_again(spec, text, own)
        for array in self.scene.arrays:
            if array.id not in there:
                text = appended(spec, text, array.id, array.profile.name, places[array.id])
        return text

    def offer(self) -> str:
        """The changed lines, to be shown before `write`."""
        self.offered = self.text_to_write()
        return changes(self.reading.spec, self.offered)

    def write(self) -> None:
        """Write what was offered. Raises Refused if nothing was, WriteRefused if the file cannot be."""
        source = self.reading.spec.source
        if self.offered is None or source is None:
            raise Refused("live.refused.unseen")
        keep(self.reading.path, self.offered, source.text)
        self.offered = None

    def _use(self, arrays: tuple[Array, ...]) -> None:
        self.scene, self.offered = self.scene.with_arrays(arrays), None

    def _array(self, message: Message) -> Array:
        try:
            return self.scene.array(message["array"])
        except KeyError:
            raise Refused("live.refused.no array", array=str(message.get("array"))) from None


LARGEST_NUMBER = 1e6
"""No place or height in a room is farther; not-a-number and infinity are not below it either."""


def _number(value: Any, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < LARGEST_NUMBER:
        raise Refused("live.refused.number", name=name)
    return float(value)


def _place(array: Array) -> NewPlace:
    assert array.at_m is not None
    assert array.band_name is not None
    return NewPlace(
        at_m=array.at_m,
        height_m=None if array.profile.mount == "flush" else array.height_m,
        band_name=array.band_name,
    )


# ---------------------------------------------------------------- what is sent


def now(desk: Desk, seq: object = None) -> Message:
    """The room as it stands: what changes with a what-if, reviewed."""
    shown = Dossier.of(desk.scene, desk.layout)
    return {
        "kind": "now",
        "seq": seq,
        "changed": desk.changed,
        "facts": what_is_so(shown.scene, shown.review),
        "html": sections(shown.scene, shown.review),
    }


def table(desk: Desk) -> Message:
    """The slider's table for the room as it stands."""
    shown = Dossier.of(desk.scene, desk.layout)
    found = shown.height_table
    over = {one.id: rings_over(shown.scene, shown.scene.array(one.id), one.heights_m) for one in found.arrays}
    return {"kind": "table", "explore": slider(found, shown.scene), "rings_over": over}


def whole_room(scene: Scene, file: Scene, layout: str | None = None) -> Message:
    """Everything about a room: the picture, the numbers, the tables. Arrays that the file has not are `added`."""
    from viz.stage import staged

    dossier = Dossier.of(scene, layout)
    stage = staged(dossier)
    told = facts(stage, dossier.height_table)
    own = {array.id for array in file.arrays}
    for array in told["arrays"]:
        array["added"] = array["id"] not in own
    return {
        "kind": "room",
        "title": dossier.scene.name,
        "facts": told,
        "html": sections(dossier.scene, dossier.review),
        "explore": slider(dossier.height_table, dossier.scene),
        "glb": packed(screen_glb(stage)),
    }


def refused(reason: Exception) -> Message:
    """The answer to what cannot be done, and whether nothing is to be said of it."""
    quiet = isinstance(reason, Refused) and reason.quiet
    return {"kind": "refused", "why": text_of(reason) or type(reason).__name__, "quiet": quiet}


def _placed(scene: Scene) -> Any:
    """The best place from the room as it stands, on whole steps as `place` writes them: nobody measures 0.1 mm."""
    from scenes.place.snap import snap_placement, whole_step_m
    from scenes.place.wished import place_as_wished

    found = place_as_wished(scene)
    if found.outcome == "none allowed":
        return found
    return snap_placement(found, whole_step_m(scene.units), nearby=True)


def said_of(placement: Any, judged: Review) -> str:
    """What the search found, in a sentence."""
    locale = Locale.of(judged.scene)
    if placement.outcome == "none allowed":
        return locale.say("live.none allowed")
    if placement.conflict is not None:
        return locale.say("live.conflict", because=conflict.because(placement.conflict, locale))
    message = "live.proven" if placement.outcome == "certified" else "live.open"
    return locale.say(
        message,
        margin=locale.margin(judged.margin_m),
        note=" ".join(
            (*placement_words.remarks(placement, locale), *wish_words.sentences(placement, locale))
        ),
    ).strip()


# ---------------------------------------------------------------- the server


class Server:
    """The open pages and the file they follow."""

    def __init__(self, path: Path, port: int, token: str, home: str | None = None) -> None:
        self.path, self.port, self.token, self.home = path, port, token, home
        self.reading = read(path)
        self.mistakes: str | None = None
        self.pages: dict[WebSocket, Desk] = {}
        self.stop = asyncio.Event()

    def app(self) -> ASGIApp:
        """The application: the page, and the line it talks over, both behind the token."""
        routes = [
            Route(f"/{self.token}/", self.page),
            WebSocketRoute(f"/{self.token}/talk", self.talk),
        ]
        return Guard(Starlette(routes=routes, lifespan=self.lifespan), self.port)

    @asynccontextmanager
    async def lifespan(self, app: Starlette) -> AsyncIterator[None]:
        """Follow the file as long as the server runs."""
        following = asyncio.create_task(self.follow())
        yield
        self.stop.set()
        following.cancel()

    async def page(self, request: Request) -> HTMLResponse:
        """The page of the room as the file has it."""
        scene = self.reading.scene
        html = await aside(lambda: live_page(scene, self.port, self.path.name, self.home))
        return HTMLResponse(html, headers=HEADERS)

    async def talk(self, socket: WebSocket) -> None:
        """Answer one page until it goes away; a message that cannot be understood is refused, no more."""
        if len(self.pages) >= MOST_PAGES:
            await socket.close(1013)
            return
        await socket.accept()
        desk = self.pages[socket] = Desk(self.reading)
        searches: set[asyncio.Task[None]] = set()
        try:
            if self.mistakes:
                await tell(socket, {"kind": "mistakes", "text": self.mistakes})
            while True:
                raw = await socket.receive_text()
                try:
                    message = json.loads(raw)
                    if not isinstance(message, dict):
                        raise Refused("live.refused.object")
                    if message.get("kind") == "best":
                        if searches:
                            raise Refused("live.refused.running")
                        task = asyncio.create_task(self.search(socket, desk))
                        searches.add(task)
                        task.add_done_callback(searches.discard)
                        continue
                    answer = await self.answer(desk, message)
                except (Refused, SpecMistakes, ValueError, KeyError, TypeError, RecursionError) as reason:
                    answer = refused(reason)
                await tell(socket, answer)
        except (WebSocketDisconnect, RuntimeError):
            pass
        finally:
            self.pages.pop(socket, None)
            for task in searches:
                task.cancel()

    async def answer(self, desk: Desk, message: Message) -> Message:
        """What a message is answered with. Raises Refused and what reading and writing raise."""
        kind = message.get("kind")
        if kind == "put":
            desk.put(message)
            return now(desk, message.get("seq"))
        if kind == "table":
            return await aside(lambda: table(desk))
        if kind in ("add", "remove", "reset", "layout"):
            shown = None
            if kind == "layout":
                desk.show(message.get("layout"))
            elif kind == "add":
                shown = desk.add()
            elif kind == "remove":
                desk.remove(message)
            else:
                desk.reset()
            room = await aside(lambda: whole_room(desk.scene, desk.reading.scene, desk.layout))
            return {**room, "changed": desk.changed, "shown": shown}
        if kind == "offer":
            return {"kind": "offer", "file": self.path.name, "lines": desk.offer()}
        if kind == "write":
            desk.write()
            said = Locale.of(desk.scene).say("live.written", file=self.path.name)
            return {"kind": "written", "file": self.path.name, "said": said}
        raise Refused("live.refused.kind")

    async def search(self, socket: WebSocket, desk: Desk) -> None:
        """The certified search from the room as it stands; the page is told what was found and shows it."""
        before = desk.scene
        try:
            if not before.arrays:
                raise Refused("live.refused.no arrays", file=self.path.name)
            placement = await aside(lambda: _placed(before))
            if desk.scene is not before:
                raise Refused("live.refused.changed")
            if placement.outcome != "none allowed":
                desk.use_placed(placement.scene)
            said = said_of(placement, await aside(lambda: Dossier.of(desk.scene).review))
            await tell(
                socket,
                {
                    **await aside(lambda: whole_room(desk.scene, desk.reading.scene, desk.layout)),
                    "changed": desk.changed,
                    "said": said,
                },
            )
        except (Refused, ValueError) as reason:
            await tell(socket, refused(reason))
        except (WebSocketDisconnect, RuntimeError):
            pass

    async def follow(self) -> None:
        """Read the file again whenever it or its profiles change, and push the room to every page."""
        folder = self.path.resolve().parent
        async for found in awatch(folder, recursive=False, stop_event=self.stop, debounce=60, step=20):
            source = self.reading.spec.source
            names = {self.path.name}
            if source is not None and source.library:
                names.add(Path(source.library).name)
            if not names & {Path(name).name for _, name in found}:
                continue
            try:
                self.reading = await aside(lambda: read(self.path))
                self.mistakes = None
                room = await aside(lambda: whole_room(self.reading.scene, self.reading.scene))
                message = {
                    **room,
                    "changed": False,
                    "said": Locale.of(self.reading.scene).say("live.read again", file=self.path.name),
                }
                for desk in self.pages.values():
                    desk.follow(self.reading)
            except (SpecMistakes, ValueError, OSError) as mistakes:
                self.mistakes = text_of(mistakes)
                message = {"kind": "mistakes", "text": self.mistakes}
            for page, desk in list(self.pages.items()):
                own = message["kind"] == "room" and desk.layout is not None
                await tell(page, await aside(partial(_of_desk, desk)) if own else message)


def _of_desk(desk: Desk) -> Message:
    return whole_room(desk.scene, desk.reading.scene, desk.layout)


def live_page(scene: Scene, port: int, file: str, home: str | None = None) -> str:
    """The page with its live part, allowed to talk to this server and to nobody else; `home`: where all rooms are."""
    from viz.stage import staged

    dossier = Dossier.of(scene)
    return assembled(
        staged(dossier),
        dossier.height_table,
        cautions=caution_parts(scene),
        made_by=made_by(scene, None),
        live=Live(file, f"ws://127.0.0.1:{port} ws://localhost:{port}", home),
    )


def serve(
    spec_path: str | Path,
    port: int = 0,
    open_browser: bool = True,
    *,
    token: str | None = None,
    ready: Callable[[str], None] | None = None,
) -> None:
    """Serve the page of a spec on 127.0.0.1 until Ctrl-C. Raises SpecMistakes, OSError if the port is taken.

    `port` 0 takes a free one. The address, with its token, is printed and opened in the browser; `ready`
    is called with it once it can be opened.
    """
    path = Path(spec_path)

    def made(bound: int, token: str) -> ASGIApp:
        return Server(path, bound, token).app()

    serve_on(made, port, open_browser, name=path.name, token=token, ready=ready)
