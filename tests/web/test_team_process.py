"""A real server that a team shares: strangers see the sign-in page and nothing else, and no password is ever told."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Protocol

import httpx
import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from loopwright import __version__
from loopwright.web.guard import HEADERS

PASSWORD, NEXT_PASSWORD = "two needles, one thread", "another cone, another day"
NAME = "knitting.local"
COOKIE = "loopwright_session"
SOCKET = "/_nicegui_ws/socket.io/?EIO=4&transport="
STARTED = {"garment": "pullover for women", "yarn": "2/30 Nm merino", "gauge": "12"}
PAGES = ["/", "/items/1", "/items/1/history", "/shelf/yarn", "/help", "/help/style", "/nothing", "/openapi.json"]
PING = "2"  # of the line itself: nothing of the page is in it
PATIENCE_S = 600  # a server on a busy machine
Run = Callable[..., subprocess.CompletedProcess[bytes]]


class Server(Protocol):
    """A started workroom (see the fixtures)."""

    port: int
    folder: Path
    url: str

    def end(self) -> None: ...
    def said(self) -> str: ...


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, start: Callable[..., Server], run: Run) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("team")
    for name, role in (("Anna", "edit"), ("Ben", "view")):
        assert run(folder, "person", name, "--role", role, LOOPWRIGHT_PASSWORD=PASSWORD).returncode == 0
    started = start(folder, "--team", "--host", NAME)
    yield started
    started.end()


@contextmanager
def signed_in(server: Server, name: str, password: str = PASSWORD, **headers: str) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=server.url, timeout=PATIENCE_S) as client:
        answer = client.post("/api/sign-in", json={"name": name, "password": password}, headers=headers)
        assert answer.status_code == 204, answer.text
        yield client


def cookie_of(client: httpx.Client) -> dict[str, str]:
    return {"cookie": f"{COOKIE}={client.cookies[COOKIE]}"}


def test_a_team_without_a_name_or_without_people_is_not_opened(tmp_path: Path, run: Run, spare_port: int) -> None:
    for words in ((), ("--host", NAME)):
        refused = run(tmp_path, "open", "--no-browser", "--team", "--port", str(spare_port), *words)
        assert refused.returncode == 2
        assert b"Traceback" not in refused.stderr
    assert "nobody may sign in yet" in " ".join(refused.stderr.decode("utf-8").split())


@pytest.mark.parametrize("page", PAGES)
def test_every_page_leads_a_stranger_to_the_sign_in_page(server: Server, page: str) -> None:
    answer = httpx.get(server.url + page, timeout=PATIENCE_S)
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    assert HEADERS.items() <= dict(answer.headers).items()


def test_the_sign_in_page_and_what_it_needs_are_open(server: Server) -> None:
    page = httpx.get(f"{server.url}/sign-in", timeout=PATIENCE_S)
    assert page.status_code == 200
    for file in ("workroom.css", "sign_in.js"):
        assert file in page.text
        assert httpx.get(f"{server.url}/assets/{__version__}/{file}", timeout=PATIENCE_S).status_code == 200


@pytest.mark.parametrize(
    ("method", "place"),
    [
        ("GET", "/api/items?kind=style"),
        ("GET", "/api/backup"),
        ("GET", "/api/openapi.json"),
        ("GET", "/api/nothing"),
        ("GET", "/assets/../api/backup"),
        ("GET", "/_nicegui/../api/backup"),
        ("POST", "/api/start"),
        ("POST", "/api/backup"),
        ("POST", "/api/items/1/changes"),
    ],
)
def test_the_json_door_is_shut_for_a_stranger(server: Server, method: str, place: str) -> None:
    sent: dict[str, Any] = {"json": STARTED} if method == "POST" else {}
    assert httpx.request(method, server.url + place, **sent, timeout=PATIENCE_S).status_code == 401


def test_no_socket_opens_for_a_stranger(server: Server) -> None:
    assert httpx.get(f"{server.url}{SOCKET}polling", timeout=PATIENCE_S).status_code == 303
    address = f"ws://127.0.0.1:{server.port}{SOCKET}websocket"
    for headers in ({}, {"cookie": f"{COOKIE}=guess"}):
        with (
            pytest.raises(InvalidStatus) as refused,
            connect(address, additional_headers=headers, open_timeout=PATIENCE_S),
        ):
            pass
        assert refused.value.response.status_code == 403


def test_the_machine_answers_to_the_name_it_was_given(server: Server) -> None:
    assert (
        httpx.get(f"{server.url}/sign-in", headers={"host": f"{NAME}:{server.port}"}, timeout=PATIENCE_S).status_code
        == 200
    )
    assert httpx.get(f"{server.url}/sign-in", headers={"host": "evil.example"}, timeout=PATIENCE_S).status_code == 403


def test_a_person_who_may_change_does_and_the_change_carries_the_name(server: Server) -> None:
    with signed_in(server, "Anna") as anna:
        style = anna.post("/api/start", json=STARTED).json()
        assert style["changed_by"] == "Anna"
        assert anna.get(f"/items/{style['id']}").status_code == 200
        edit = {"base_version": 1, "edits": [{"path": ["order", "pieces"], "typed": "640 pieces"}]}
        assert anna.post(f"/api/items/{style['id']}/changes", json=edit).status_code == 200
        assert anna.get(f"/api/items/{style['id']}/history").json()[0]["by"] == "Anna"


def test_a_person_who_may_look_reads_everything_and_changes_nothing(server: Server) -> None:
    with signed_in(server, "Anna") as anna, signed_in(server, "Ben") as ben:
        style = anna.post("/api/start", json=STARTED).json()["id"]
        before = anna.get(f"/api/items/{style}").json()
        for place in ("/", f"/items/{style}", f"/items/{style}/history", f"/api/items/{style}/study", "/api/backup"):
            assert ben.get(place).status_code == 200, place
        edit = {"base_version": 1, "edits": [{"path": ["order", "pieces"], "value": 1}]}
        asked: dict[str, Any] = {"changes": edit, "set-aside": edit, "restore": {"version": 1}}
        for way in ("changes", "set-aside", "restore", "undo", "redo", "duplicate", "archive", "unarchive"):
            assert ben.post(f"/api/items/{style}/{way}", json=asked.get(way, {})).status_code == 403, way
        for place in ("/api/items", "/api/import", "/api/backup", "/api/demo", "/api/start"):
            assert ben.post(place, json={}).status_code == 403, place
        assert anna.get(f"/api/items/{style}").json() == before


@pytest.mark.parametrize(("scheme", "is_secure"), [("http", False), ("https", True)])
def test_the_cookie_is_for_this_site_alone_and_over_tls_never_in_the_open(
    server: Server, scheme: str, is_secure: bool
) -> None:
    """A server with TLS in front of it says which way a request came."""
    sent = {"name": "Anna", "password": PASSWORD}
    answer = httpx.post(
        f"{server.url}/api/sign-in", json=sent, headers={"x-forwarded-proto": scheme}, timeout=PATIENCE_S
    )
    flags = [flag.strip().casefold() for flag in answer.headers["set-cookie"].split(";")]
    assert {"httponly", "samesite=strict", "path=/"} <= set(flags)
    assert ("secure" in flags) == is_secure


def test_a_form_of_another_page_signs_nobody_in(server: Server) -> None:
    sent = {"name": "Anna", "password": PASSWORD}
    for answer in (
        httpx.post(f"{server.url}/api/sign-in", data=sent, timeout=PATIENCE_S),
        httpx.post(
            f"{server.url}/api/sign-in", json=sent, headers={"origin": "https://evil.example"}, timeout=PATIENCE_S
        ),
        httpx.post(
            f"{server.url}/api/sign-in", json=sent, headers={"sec-fetch-site": "cross-site"}, timeout=PATIENCE_S
        ),
    ):
        assert answer.status_code in (403, 415)
        assert "set-cookie" not in answer.headers


def after_pings(line: Any) -> Any:
    """What is said after the pings that were sent while a command was at work."""
    while (said := line.recv(timeout=300)) == PING:
        pass
    return said


def test_the_open_page_of_a_person_who_is_taken_away_falls_silent(server: Server, run: Run) -> None:
    assert run(server.folder, "person", "Clara", "--role", "edit", LOOPWRIGHT_PASSWORD=PASSWORD).returncode == 0
    address = f"ws://127.0.0.1:{server.port}{SOCKET}websocket"
    with signed_in(server, "Clara") as clara:
        with connect(address, additional_headers=cookie_of(clara), open_timeout=PATIENCE_S) as line:
            assert str(line.recv(timeout=300)).startswith("0{")
            assert run(server.folder, "person", "Clara", "--remove").returncode == 0
            line.send("40")
            with pytest.raises(ConnectionClosed):
                after_pings(line)
        assert clara.get("/").status_code == 303
        assert clara.get("/api/items?kind=style").status_code == 401
        assert run(server.folder, "person", "Clara", LOOPWRIGHT_PASSWORD=NEXT_PASSWORD).returncode == 0
        assert clara.get("/").status_code == 303


def test_a_role_that_shrinks_works_at_the_next_change(server: Server, run: Run) -> None:
    assert run(server.folder, "person", "Dora", "--role", "edit", LOOPWRIGHT_PASSWORD=PASSWORD).returncode == 0
    with signed_in(server, "Dora") as dora:
        assert dora.post("/api/start", json=STARTED).status_code == 201
        assert run(server.folder, "person", "Dora", "--role", "view").returncode == 0
        assert dora.post("/api/start", json=STARTED).status_code == 403
        assert dora.get("/").status_code == 200


@pytest.mark.parametrize(
    "tried",
    ["a wrong password of hers", "a wrong" + "x" * 300, "a wrong\x00password", "a wrong\ud800 half of a sign"],
    ids=["wrong", "too long", "with a control sign", "with half a sign"],
)
def test_no_password_is_told_or_kept_whether_right_or_wrong(server: Server, tried: str) -> None:
    """Neither in an answer, nor in what the server prints, nor anywhere in its folder."""
    sent = json.dumps({"name": "Eve", "password": tried})
    answer = httpx.post(
        f"{server.url}/api/sign-in", content=sent, headers={"content-type": "application/json"}, timeout=PATIENCE_S
    )
    assert answer.status_code == 422
    assert "a wrong" not in answer.text
    with signed_in(server, "Anna") as anna:
        assert PASSWORD not in anna.get("/").text
    assert "a wrong" not in server.said()
    assert PASSWORD not in server.said()
    kept = {file.name: file.read_bytes() for file in server.folder.rglob("*") if file.is_file()}
    assert not [name for name, held in kept.items() if PASSWORD.encode() in held or b"a wrong" in held]
    assert any(b"$argon2" in held for held in kept.values())


def test_guesses_are_stopped_and_others_may_still_come_in(server: Server, run: Run) -> None:
    """The last of these tests: it makes this machine's address wait."""
    said = []
    for tried in range(8):
        sent = {"name": "Ben", "password": f"guess number {tried}"}
        said.append(httpx.post(f"{server.url}/api/sign-in", json=sent, timeout=PATIENCE_S).json()["problem"]["what"])
    assert "do not belong together" in said[0]
    assert "wrong 5 times" in said[-1]
    right = httpx.post(f"{server.url}/api/sign-in", json={"name": "Ben", "password": PASSWORD}, timeout=PATIENCE_S)
    assert right.status_code == 422
    elsewhere = {"x-forwarded-for": "10.0.0.77"}
    with signed_in(server, "Anna", **elsewhere) as anna:
        assert anna.get("/").status_code == 200
