"""Firefox and WebKit as Debian has them, driven by the commands of the WebDriver standard (W3C, 2018).

Firefox takes them from a socket of its own, each as its length and JSON; WebKit's MiniBrowser over HTTP from
its driver, on a screen that nobody sees. :class:`Page` has the few calls of playwright's that the tests use,
so that the same checks run here.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import shutil
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

Ask = Callable[[str, str, dict[str, Any] | None], Any]
"""How a command is asked: its method, its path below the session, what goes with it; the value comes back."""

PATIENCE = 30.0
"""For how many seconds a browser may take to begin."""

MINI_BROWSERS = "*/webkit2gtk-4.*/MiniBrowser"
KEYS = {
    "Tab": "\ue004", "Enter": "\ue007", "Escape": "\ue00c", "Space": " ", "End": "\ue010", "Home": "\ue011",
    "ArrowLeft": "\ue012", "ArrowUp": "\ue013", "ArrowRight": "\ue014", "ArrowDown": "\ue015",
}  # fmt: skip
ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
"""The key under which the standard hands over an element (section 12)."""

LISTENER = """
window.complaints = [];
addEventListener("error", (event) => complaints.push(event.message || "not loaded"), true);
addEventListener("unhandledrejection", (event) => complaints.push(String(event.reason)));
addEventListener("securitypolicyviolation", (event) => complaints.push(`policy: ${event.blockedURI}`));
for (const kind of ["log", "info", "warn", "error"]) {
  console[kind] = (...said) => complaints.push(said.join(" "));
}
"""


def with_listener(text: str) -> str:
    """A page that keeps its complaints, by a script of the test's own that its policy knows by its digest."""
    digest = base64.b64encode(hashlib.sha256(LISTENER.encode()).digest()).decode()
    text, policies = re.subn(r"script-src ", f"script-src 'sha256-{digest}' ", text, count=1)
    text, heads = re.subn(r"<title>", f"<script>{LISTENER}</script><title>", text, count=1)
    assert policies == heads == 1
    return text


def waited(found: Callable[[], str]) -> str:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        if text := found():
            return text
        time.sleep(0.05)
    raise TimeoutError("the browser did not begin")


@contextmanager
def process(*command: str, **more: Any) -> Iterator[subprocess.Popen[bytes]]:
    with subprocess.Popen(command, stderr=subprocess.DEVNULL, **more) as begun:
        try:
            yield begun
        finally:
            begun.terminate()


# What the standard calls by a path and Firefox by a name.
NAMES = {
    "url": "Navigate", "refresh": "Refresh", "execute/sync": "ExecuteScript", "actions": "PerformActions",
    "window/rect": "SetWindowRect",
}  # fmt: skip


@contextmanager
def firefox(scheme: str) -> Iterator[Ask]:
    prefs = {
        "marionette.port": 0, "layout.css.prefers-color-scheme.content-override": int(scheme != "dark"),
        "browser.shell.checkDefaultBrowser": False, "datareporting.policy.dataSubmissionEnabled": False,
    }  # fmt: skip
    with ExitStack() as held:
        home = Path(held.enter_context(tempfile.TemporaryDirectory(ignore_cleanup_errors=True)))
        lines = [f"user_pref({json.dumps(key)}, {json.dumps(value)});" for key, value in prefs.items()]
        (home / "user.js").write_text("\n".join(lines), encoding="utf-8")
        program = shutil.which("firefox-esr") or shutil.which("firefox") or ""
        alone = ("--headless", "--marionette", "--no-remote", "--profile", str(home))
        held.enter_context(process(program, *alone, stdout=subprocess.DEVNULL))
        place = home / "MarionetteActivePort"
        port = waited(lambda: place.read_text() if place.exists() else "")
        line = held.enter_context(socket.create_connection(("127.0.0.1", int(port)), timeout=2 * PATIENCE))
        heard = held.enter_context(line.makefile("rb"))

        def receive() -> Any:
            length = b""
            while (one := heard.read(1)) != b":":
                length += one
            return json.loads(heard.read(int(length)))

        def named(name: str, params: dict[str, Any]) -> Any:
            message = json.dumps([0, 1, f"WebDriver:{name}", params]).encode()
            line.sendall(b"%d:%s" % (len(message), message))
            _, _, fault, told = receive()
            assert not fault, fault
            return told

        def ask(_: str, path: str, body: dict[str, Any] | None) -> Any:
            if path.startswith("element/"):
                return named("ElementClick", {"id": path.split("/")[1]})
            return (named(NAMES[path], body or {}) or {}).get("value")

        receive()
        named("NewSession", {"capabilities": {"alwaysMatch": {}}})
        yield ask


def mini_browser() -> str:
    return next((str(path) for path in sorted(Path("/usr/lib").glob(MINI_BROWSERS))), "")


@contextmanager
def webkit(scheme: str) -> Iterator[Ask]:
    with ExitStack() as held:
        screen = held.enter_context(
            process("Xvfb", "-displayfd", "1", "-screen", "0", "1600x1200x24", "-nolisten", "tcp",
                    stdout=subprocess.PIPE)
        )  # fmt: skip
        assert screen.stdout
        shown = {"DISPLAY": f":{screen.stdout.readline().decode().strip()}", "GDK_BACKEND": "x11"}
        theme = {"GTK_THEME": f"Adwaita:{scheme}"} if scheme == "dark" else {}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        held.enter_context(
            process("WebKitWebDriver", "-p", str(port), env={**os.environ, **shown, **theme},
                    stdout=subprocess.DEVNULL)
        )  # fmt: skip

        def http(method: str, path: str, body: dict[str, Any] | None) -> Any:
            wanted = urllib.request.Request(
                f"http://127.0.0.1:{port}{path}", method=method, headers={"Content-Type": "application/json"},
                data=None if body is None else json.dumps(body).encode(),
            )  # fmt: skip
            try:
                with urllib.request.urlopen(wanted, timeout=2 * PATIENCE) as answer:
                    return json.load(answer)["value"]
            except urllib.error.HTTPError as fault:
                raise AssertionError(fault.read().decode()) from None

        def ready() -> str:
            try:
                return "yes" if http("GET", "/status", None)["ready"] else ""
            except OSError:
                return ""

        waited(ready)
        options = {"binary": mini_browser(), "args": ["--automation"]}
        asked = {"alwaysMatch": {"webkitgtk:browserOptions": options}}
        told = http("POST", "/session", {"capabilities": asked})
        own = f"/session/{told['sessionId']}"
        yield lambda method, path, body: http(method, f"{own}/{path}", body)
        http("DELETE", own, None)


class Locator:
    """One element, or all, that a selector of the style sheets' kind finds."""

    def __init__(self, page: Page, css: str, place: int = 0) -> None:
        self.page, self.css, self.place = page, css, place

    def _of(self, what: str) -> Any:
        script = f"([css, n]) => {{ const one = document.querySelectorAll(css)[n]; return {what}; }}"
        return self.page.evaluate(script, [self.css, self.place])

    def nth(self, place: int) -> Locator:
        return Locator(self.page, self.css, place)

    def count(self) -> int:
        return int(self.page.evaluate("(css) => document.querySelectorAll(css).length", self.css))

    def inner_text(self) -> str:
        return str(self._of("one.innerText"))

    def input_value(self) -> str:
        return str(self._of("one.value"))

    def get_attribute(self, name: str) -> str:
        return str(self._of(f"one.getAttribute({json.dumps(name)})"))

    def is_visible(self) -> bool:
        return bool(self._of("one.getClientRects().length > 0"))

    def focus(self) -> None:
        self._of("one.focus()")

    def click(self) -> None:
        found = self._of('(one.scrollIntoView({ block: "center", behavior: "instant" }), one)')
        self.page.ask("POST", f"element/{found[ELEMENT]}/click", {})


class Page:
    def __init__(self, ask: Ask) -> None:
        self.ask = ask
        self.keyboard = self

    def goto(self, address: str) -> None:
        self.ask("POST", "url", {"url": address})

    def reload(self) -> None:
        self.ask("POST", "refresh", {})

    def evaluate(self, script: str, given: Any = None) -> Any:
        whole = f'const found = ({script}); return typeof found === "function" ? found(arguments[0]) : found;'
        return self.ask("POST", "execute/sync", {"script": whole, "args": [given]})

    def locator(self, css: str) -> Locator:
        return Locator(self, css)

    def check(self, css: str) -> None:
        self.locator(css).click()

    def press(self, key: str) -> None:
        strokes = [{"type": kind, "value": KEYS.get(key, key)} for kind in ("keyDown", "keyUp")]
        self.ask("POST", "actions", {"actions": [{"type": "key", "id": "keys", "actions": strokes}]})

    def drag(self, css: str, right: int, down: int) -> None:
        """With a mouse, from the middle of an element, in the screen's dots."""
        self.locator(css)._of('one.scrollIntoView({ block: "center", behavior: "instant" })')
        x, y = self.evaluate(
            "(css) => { const b = document.querySelector(css).getBoundingClientRect();"
            " return [Math.round(b.x + b.width / 2), Math.round(b.y + b.height / 2)]; }", css,
        )  # fmt: skip
        moves = [
            {"type": "pointerMove", "duration": 0, "x": x, "y": y}, {"type": "pointerDown", "button": 0},
            {"type": "pointerMove", "duration": 50, "x": x + right, "y": y + down},
            {"type": "pointerUp", "button": 0},
        ]  # fmt: skip
        hand = {"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}, "actions": moves}
        self.ask("POST", "actions", {"actions": [hand]})

    def resize(self, width: int, height: int) -> None:
        self.ask("POST", "window/rect", {"x": 0, "y": 0, "width": width, "height": height})
