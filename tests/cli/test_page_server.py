from __future__ import annotations

import http.client
import threading

import pytest

from seamtree_cli.page_server import PageServer


@pytest.fixture
def server():
    with PageServer() as server:
        server.show(lambda events: f"<p>{events}</p>", policy="default-src 'none'")
        yield server


def asked(server, path, method="GET", host=None):
    """Return status, headers and body of an answer."""
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=5)
    connection.request(method, path, headers={} if host is None else {"Host": host})
    answer = connection.getresponse()
    found = answer.status, dict(answer.getheaders()), answer.read()
    connection.close()
    return found


def waiting(server, state):
    """Begin to wait for news as a browser does that shows a state."""
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=5)
    connection.request("GET", f"{server.root}events?{state}")
    return connection.getresponse()


def told(answer):
    """Return the next event, its name and data; beats are left out."""
    while True:
        lines = []
        while line := answer.readline().decode().rstrip("\n"):
            lines.append(line)
        if not lines:
            return None
        if not lines[0].startswith(":"):
            return lines


def test_the_page_is_at_its_address_and_nothing_else_is_anywhere(server):
    assert server.address.startswith("http://127.0.0.1:")
    assert server.server_address[0] == "127.0.0.1"
    status, headers, body = asked(server, server.root)
    assert (status, body) == (200, b"<p>events?1</p>")
    assert headers["Content-Security-Policy"] == "default-src 'none'"
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Server"].strip() == "seamtree"
    token = server.root.strip("/")
    for path in (
        "/", "/index.html", "/events", f"/{token[:-1]}/", f"/{token}", f"/{token.lower()}/", f"{server.root}page.js",
        f"{server.root}../", f"{server.root}../../etc/passwd", f"{server.root}%2e%2e/", "//etc/passwd", "/%C3%A9/",
    ):  # fmt: skip
        status, _, body = asked(server, path)
        assert (status, body) == (404, b"")
    assert asked(server, server.root, "HEAD")[::2] == (200, b"")
    assert asked(server, server.root, "POST")[0] == 501


def test_tokens_differ():
    with PageServer() as one, PageServer() as other:
        assert one.root != other.root
        assert len(one.root) >= 34


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "127.0.0.1", "", "127.0.0.1:1"])
def test_requests_that_name_another_host_are_refused(server, host):
    assert asked(server, server.root, host=host)[0] == 421
    assert asked(server, f"{server.root}events?1", host=host)[0] == 421
    assert asked(server, server.root, host=f"localhost:{server.server_port}")[0] == 200


def test_a_browser_is_told_of_faults_and_of_the_next_state(server):
    news = waiting(server, 1)
    assert news.headers["Content-Type"] == "text/event-stream"
    server.tell_faults(["gull.svg: a gap\nand more"])
    assert told(news) == ["event: faulty", 'data: ["gull.svg: a gap\\nand more"]']
    late = waiting(server, 1)
    assert told(late)[0] == "event: faulty"
    server.show(lambda events: f"<p>{events}</p>", policy="")
    assert told(news)[0] == told(late)[0] == "event: changed"
    assert asked(server, server.root)[2] == b"<p>events?2</p>"
    assert told(waiting(server, 1))[0] == "event: changed"  # it shows an old state


def test_the_end_does_not_wait_for_browsers(server):
    news = waiting(server, 1)
    before = threading.active_count()
    server.__exit__()
    assert news.read() in (b"", b": still here\n\n")
    assert threading.active_count() <= before
