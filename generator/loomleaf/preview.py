"""Watch a shop folder, build again when something in it changes, and show what was built to this computer only.

The server listens on the loopback address, answers only to its own name (so that no web page can reach it through a name
that leads here), and gives out files of the output folder and one page of its own: what was built, and what is wrong.
"""

from __future__ import annotations

import html
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

HOST = "127.0.0.1"
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".svg": "image/svg+xml; charset=utf-8",
    ".png": "image/png",
    ".pdf": "application/pdf",
    ".otf": "font/otf",
    ".woff2": "font/woff2",
}
HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Content-Security-Policy": "frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
}
POLL_S = 0.5


@dataclass
class Shown:
    """What the server shows besides files: the messages of the last build."""

    messages: tuple[str, ...] = ()
    building: bool = False
    built: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)


def file_for(out: Path, path: str) -> Path | None:
    """The file below the output folder that an address names, or None for anything else.

    Hidden files, links that lead out, addresses with ``..`` and everything that is not a plain file of a known kind are
    nothing.
    """
    name = unquote(urlsplit(path).path, errors="replace").lstrip("/")
    if name.endswith("/"):
        name += "index.html"
    steps = name.split("/")
    if any(step in ("", ".", "..") or step.startswith(".") or "\\" in step or not step.isprintable() for step in steps):
        return None
    if os.path.splitext(name)[1].lower() not in TYPES:
        return None
    top = os.path.realpath(out)
    real = os.path.realpath(os.path.join(top, name))
    if os.path.commonpath([real, top]) != top or not os.path.isfile(real):
        return None
    return Path(real)


def start_page(out: Path, shown: Shown) -> str:
    """What was built, as links, and what the last build had to say."""
    links = [f"<li><a href='/{html.escape(name, quote=True)}'>{html.escape(name)}</a></li>" for name in built(out)]
    said = "\n".join(html.escape(line) for line in shown.messages)
    state = "Building …" if shown.building else f"Built {shown.built} time{'s' if shown.built != 1 else ''}."
    return (
        "<!doctype html><html lang='en'><head><meta charset='utf-8'><meta http-equiv='refresh' content='2'>"
        "<title>Preview</title></head><body>"
        f"<h1>Preview</h1><p>{state}</p><ul>{''.join(links)}</ul><h2>Messages</h2><pre>{said}</pre></body></html>"
    )


def built(out: Path) -> Iterator[str]:
    """Sheets, then the handbook's first page."""
    for area in sorted(out.glob("job-*")):
        for path in sorted(area.glob("*.pdf")):
            yield f"{area.name}/{path.name}"
    if (out / "handbook" / "index.html").is_file():
        yield "handbook/index.html"


def make_server(out: Path, shown: Shown, port: int) -> ThreadingHTTPServer:
    """A server on the loopback address; port 0 takes any free one. Raises OSError when the port is taken."""

    class Answer(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        server_version = "loomleaf"
        sys_version = ""
        timeout = 10

        def do_GET(self) -> None:
            self._answer(with_body=True)

        def do_HEAD(self) -> None:
            self._answer(with_body=False)

        def _answer(self, *, with_body: bool) -> None:
            here = server.server_port
            ending = "" if here == 80 else f":{here}"
            if self.headers.get_all("Host") not in ([HOST + ending], ["localhost" + ending]):
                self._send(HTTPStatus.MISDIRECTED_REQUEST, "text/plain; charset=utf-8", b"not this server\n", with_body)
                return
            if urlsplit(self.path).path == "/":
                with shown.lock:
                    page = start_page(out, shown)
                self._send(HTTPStatus.OK, TYPES[".html"], page.encode("utf-8"), with_body)
                return
            path = file_for(out, self.path)
            try:
                data = path.read_bytes() if path else None
            except OSError:  # swapped away this moment
                data = None
            if path is None or data is None:
                self._send(HTTPStatus.NOT_FOUND, "text/plain; charset=utf-8", b"no such file here\n", with_body)
                return
            self._send(HTTPStatus.OK, TYPES[path.suffix.lower()], data, with_body)

        def _send(self, status: HTTPStatus, kind: str, data: bytes, with_body: bool) -> None:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(data)))
            for name, value in HEADERS.items():
                self.send_header(name, value)
            self.end_headers()
            if with_body:
                self.wfile.write(data)

        def log_message(self, format: str, *args: object) -> None:
            """Nothing is said a request."""

    server = ThreadingHTTPServer((HOST, port), Answer)
    server.daemon_threads = True
    return server


def seen(shop: Path) -> dict[str, tuple[int, int]]:
    """Size and time of every content file, to tell whether something has changed."""
    found = {}
    for folder, folders, names in os.walk(shop):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in names:
            if name.endswith((".yaml", ".md")) and not name.startswith("."):
                path = os.path.join(folder, name)
                try:
                    about = os.stat(path)
                except OSError:
                    continue
                found[path] = (about.st_size, about.st_mtime_ns)
    return found


def commands(shop: Path, out: Path) -> tuple[tuple[str, ...], ...]:
    """What is run to build: each a process of its own, which passes over what has not changed."""
    where = ("--shop", str(shop), "--out", str(out))
    run = (sys.executable, "-m", "loomleaf")
    return (*run, "print", "all", *where), (*run, "publish", "--site-only", *where)


def build(words: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Run the commands one after the other; what they had to say."""
    lines: list[str] = []
    for command in words:
        done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, errors="replace")
        lines += done.stderr.splitlines()
    return tuple(lines)


def preview(
    shop: Path,
    out: Path,
    server: ThreadingHTTPServer,
    shown: Shown,
    say: Callable[[str], None],
    *,
    stop: threading.Event | None = None,
    make: Callable[[], tuple[str, ...]] | None = None,
    poll_s: float = POLL_S,
) -> None:
    """Build, serve and watch until ``stop`` is set or the keyboard says so. The server is closed at the end."""
    stop = stop or threading.Event()
    make = make or (lambda: build(commands(shop, out)))
    serving = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True)
    serving.start()
    say(f"http://{HOST}:{server.server_port}/")
    known: Mapping[str, tuple[int, int]] | None = None
    try:
        while not stop.is_set():
            now = seen(shop)
            if now != known:
                known = now
                with shown.lock:
                    shown.building = True
                messages = make()
                with shown.lock:
                    shown.messages, shown.building, shown.built = messages, False, shown.built + 1
                say("\n".join([*messages, f"built {shown.built}"]))
            stop.wait(poll_s)
    finally:
        server.shutdown()
        server.server_close()
        serving.join(5)
