"""Preview serves the output folder to this computer alone, and builds again when something changes."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from http.client import HTTPConnection
from http.server import ThreadingHTTPServer
from pathlib import Path

import pytest

from loomleaf.preview import Shown, build, commands, file_for, make_server, preview, seen


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """An output folder, with something beside it that nobody may have."""
    folder = tmp_path / "build"
    for name, text in {
        "job-2041/2041-bench.pdf": "%PDF",
        "handbook/index.html": "<p>Handbook</p>",
        "handbook/assets/book.css": "p{}",
        "job-2041/notes.yaml": "secret",
        ".loomleaf/record.json": "{}",
    }.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)
    (tmp_path / "secret.html").write_text("secret")
    (folder / "out.html").symlink_to(tmp_path / "secret.html")
    (folder / "up").symlink_to(tmp_path)
    return folder


@pytest.fixture
def server(out: Path) -> Iterator[ThreadingHTTPServer]:
    made = make_server(out, Shown(messages=("job 1 is <b>HELD</b>",)), 0)
    thread = threading.Thread(target=made.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    yield made
    made.shutdown()
    made.server_close()
    thread.join()


def ask(
    server: ThreadingHTTPServer, path: str, *, host: str | None = None, method: str = "GET"
) -> tuple[int, str, dict[str, str]]:
    port = server.server_address[1]
    link = HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        link.putrequest(method, path, skip_host=True)
        link.putheader("Host", f"127.0.0.1:{port}" if host is None else host)
        link.endheaders()
        answer = link.getresponse()
        return answer.status, answer.read().decode(), dict(answer.getheaders())
    finally:
        link.close()


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/job-2041/2041-bench.pdf", "application/pdf"),
        ("/handbook/", "text/html; charset=utf-8"),
        ("/handbook/index.html?x=1", "text/html; charset=utf-8"),
        ("/handbook/assets/book.css", "text/css; charset=utf-8"),
    ],
)
def test_files_of_the_output_folder_are_served(server: ThreadingHTTPServer, path: str, kind: str) -> None:
    status, _, headers = ask(server, path)
    assert (status, headers["Content-Type"]) == (200, kind)
    assert headers["X-Content-Type-Options"] == "nosniff" and headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.html",
        "/%2e%2e/secret.html",
        "/handbook/..%2f..%2fsecret.html",
        "/..%5csecret.html",
        "/out.html",
        "/up/secret.html",
        "/.loomleaf/record.json",
        "/job-2041/notes.yaml",
        "/job-2041",
        "/job-2041/",
        "//etc/passwd",
        "/handbook/index.html%00.pdf",
        "/%ff%fe.html",
        "/nothing.html",
    ],
)
def test_nothing_else_is(server: ThreadingHTTPServer, path: str) -> None:
    status, text, _ = ask(server, path)
    assert (status, text) == (404, "no such file here\n")


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example:80", "", "[::1]:80"])
def test_another_name_is_refused(server: ThreadingHTTPServer, host: str) -> None:
    """A name that somebody else's page has pointed at this computer gets nothing (DNS rebinding)."""
    for path in ("/", "/handbook/index.html"):
        status, text, _ = ask(server, path, host=host)
        assert (status, text) == (421, "not this server\n")


def test_localhost_with_the_port_is_its_name_too(server: ThreadingHTTPServer) -> None:
    assert ask(server, "/", host=f"localhost:{server.server_address[1]}")[0] == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "TRACE"])
def test_it_only_gives(server: ThreadingHTTPServer, method: str) -> None:
    assert ask(server, "/handbook/index.html", method=method)[0] == 501


def test_head_has_no_body(server: ThreadingHTTPServer) -> None:
    status, text, headers = ask(server, "/handbook/index.html", method="HEAD")
    assert (status, text, headers["Content-Length"]) == (200, "", "15")


def test_it_listens_on_the_loopback_address_alone(server: ThreadingHTTPServer) -> None:
    assert server.server_address[0] == "127.0.0.1"
    assert server.socket.family == socket.AF_INET


def test_the_first_page_lists_what_was_built_and_what_is_wrong(server: ThreadingHTTPServer) -> None:
    _, text, _ = ask(server, "/")
    assert "href='/job-2041/2041-bench.pdf'" in text and "href='/handbook/index.html'" in text
    assert "job 1 is &lt;b&gt;HELD&lt;/b&gt;" in text


def test_a_link_inside_the_folder_may_be_followed(out: Path) -> None:
    (out / "same.html").symlink_to("handbook/index.html")
    assert file_for(out, "/same.html") == (out / "handbook/index.html").resolve()


def until(true: Callable[[], bool], seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.02)


def test_a_change_builds_again(tmp_path: Path) -> None:
    shop, out = tmp_path / "shop", tmp_path / "build"
    shop.mkdir()
    (shop / "shop.yaml").write_text("name: A\n")
    made: list[str] = []
    shown, stop = Shown(), threading.Event()

    def make() -> tuple[str, ...]:
        made.append((shop / "shop.yaml").read_text())
        return (f"build {len(made)}",)

    said: list[str] = []
    server = make_server(out, shown, 0)
    thread = threading.Thread(
        target=preview,
        args=(shop, out, server, shown, said.append),
        kwargs={"stop": stop, "make": make, "poll_s": 0.02},
    )
    thread.start()
    try:
        until(lambda: shown.built == 1)
        time.sleep(0.1)
        assert shown.built == 1  # nothing changed, nothing built
        (shop / "shop.yaml").write_text("name: Another\n")
        until(lambda: made[-1] == "name: Another\n")
        until(lambda: shown.messages[-1] == f"build {len(made)}")
    finally:
        stop.set()
        thread.join()
    assert said[0].startswith("http://127.0.0.1:")


def test_only_content_is_watched(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    for name in ("jobs/1.yaml", "a.md", "a.txt", ".a.yaml.swp", ".b.yaml"):
        (tmp_path / name).write_text("x")
    assert sorted(os.path.relpath(name, tmp_path) for name in seen(tmp_path)) == ["a.md", "jobs/1.yaml"]


def test_building_runs_this_program_and_brings_its_messages(tmp_path: Path) -> None:
    words = commands(tmp_path / "no-shop", tmp_path / "build")
    assert [command[:4] for command in words] == [
        (sys.executable, "-m", "loomleaf", "print"),
        (sys.executable, "-m", "loomleaf", "publish"),
    ]
    assert any("there is no shop folder 'no-shop'" in line for line in build(words))


def test_a_port_that_is_taken_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        command = [sys.executable, "-m", "loomleaf", "preview", "--shop", str(tmp_path / "shop"), "--port", port]
        done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path, timeout=60)
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr == f"loomleaf: port {port} cannot be used: Address already in use; choose another with --port\n"
