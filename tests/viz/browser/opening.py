"""Debian's chromium, opened once for all tests, watched for whatever it says or asks for.

A missing browser is a failure, not a reason to skip: `chromium()` raises.
"""

from __future__ import annotations

import atexit
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
ALWAYS = [
    "--headless",
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WITH_WEBGL = ("--use-angle=swiftshader", "--enable-unsafe-swiftshader")
WITHOUT_WEBGL = ("--disable-3d-apis",)
PATIENCE_MS = 30_000
"""How long a machine with other work may take for what takes a second; nothing is measured by it."""


@cache
def _playwright() -> Any:
    started = sync_playwright().start()
    atexit.register(started.stop)
    return started


@cache
def chromium(*extra: str) -> Browser:
    """The browser, started when first asked for."""
    if not Path(CHROMIUM).exists():
        raise FileNotFoundError(f"{CHROMIUM} is missing: apt-get install chromium")
    browser: Browser = _playwright().chromium.launch(executable_path=CHROMIUM, args=[*ALWAYS, *extra])
    # before playwright itself is stopped
    atexit.register(browser.close)
    return browser


@dataclass
class Watched:
    """A page with everything it said and asked for."""

    page: Page
    said: list[str] = field(default_factory=list)
    """Console messages above the level info, and errors nobody caught."""
    asked_for: list[str] = field(default_factory=list)
    """Addresses of everything it requested."""

    def js(self, script: str, argument: Any = None) -> Any:
        """The value of a script in the page."""
        return self.page.evaluate(script, argument)

    def until(self, script: str) -> Any:
        """Waits until a script gives something true, and gives it. Unlike playwright's own, it needs no eval."""
        end = time.monotonic() + PATIENCE_MS / 1000
        while time.monotonic() < end:
            if value := self.page.evaluate(script):
                return value
            self.page.wait_for_timeout(25)
        raise AssertionError(f"never true: {script}; the page said {self.said}")

    def settled(self) -> None:
        """Waits until the picture stands still and is drawn at its best."""
        self.page.wait_for_timeout(60)
        self.until("() => overtable.room.settled")

    def point(self, of: list[float]) -> tuple[float, float]:
        """Where in the window a point of the room (metres) is seen."""
        x, y = self.js("(p) => overtable.room.screen_of(p)", of)
        box = self.page.locator("#view").bounding_box()
        assert box is not None
        return box["x"] + x, box["y"] + y


def opened(
    address: str,
    *,
    width: int = 1280,
    height: int = 800,
    offline: bool = True,
    webgl: bool = True,
    before: Callable[[Page], None] | None = None,
    **context: Any,
) -> Watched:
    """A page opened in a fresh context and drawn; close it with `page.context.close()`."""
    browser = chromium(*(WITH_WEBGL if webgl else WITHOUT_WEBGL))
    fresh = browser.new_context(viewport={"width": width, "height": height}, offline=offline, **context)
    fresh.set_default_timeout(PATIENCE_MS)
    page = fresh.new_page()
    watched = Watched(page)
    page.on(
        "console",
        lambda message: (
            None
            if message.type in ("log", "info", "debug")
            else watched.said.append(f"{message.type}: {message.text}")
        ),
    )
    page.on("pageerror", lambda error: watched.said.append(f"error: {error}"))
    page.on("request", lambda request: watched.asked_for.append(request.url))
    if before:
        before(page)
    page.goto(address)
    page.wait_for_selector("body.drawn, body.flat")
    return watched
