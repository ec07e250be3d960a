"""A team signs in: who gets in, who waits, who may only look, and what is never told."""

import asyncio
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest
from fastapi import FastAPI
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient
from starlette.websockets import WebSocket, WebSocketDisconnect
from typer.testing import CliRunner

from loopwright.cli import app as command
from loopwright.problems import Problem
from loopwright.store.shelf import open_shelf
from loopwright.store.values import Role
from loopwright.web.sign_in import COOKIE, MOST_TRIES, SESSION_S, TRIES_S, Sessions, SignedIn, hash_of
from loopwright.web.sign_in_door import add_sign_in

PASSWORD = "two needles, one thread"


class Clock:
    """A clock that a test turns."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def sessions(shelf, clock) -> Sessions:
    shelf.add_person("Anna", hash_of(PASSWORD), "edit")
    shelf.add_person("Ben", hash_of(PASSWORD), "view")
    return Sessions(shelf, clock)


@pytest.fixture
def door(sessions, shelf) -> TestClient:
    """A small workroom behind the sign-in: a page, a thing to change, a socket that answers and one that tells."""
    inner = FastAPI()
    api = FastAPI()
    add_sign_in(api, sessions)

    @api.exception_handler(Problem)
    async def told(_request, problem):
        return PlainTextResponse(problem.sentence(), 422)

    @api.post("/items/1/changes")
    def change() -> str:
        return "changed"

    @inner.get("/")
    def page() -> str:
        return "season"

    @inner.websocket("/_nicegui_ws/socket.io/")
    async def socket(socket: WebSocket) -> None:
        await socket.accept()
        await socket.send_text("open")
        async for heard in socket.iter_text():
            await socket.send_text(f"figures after {heard}")

    @inner.websocket("/_nicegui_ws/tells/")
    async def telling(socket: WebSocket) -> None:
        await socket.accept()
        await socket.send_text("open")
        while shelf.person("Anna") is not None:
            await asyncio.sleep(0.01)
        await socket.send_text("the price that Anna should not hear")
        await socket.send_text("and another")

    inner.mount("/api", api)
    return TestClient(SignedIn(inner, sessions=sessions), follow_redirects=False)


def sign_in(door: TestClient, name: str, password: str = PASSWORD) -> httpx.Response:
    return door.post("/api/sign-in", json={"name": name, "password": password})


def test_a_stranger_is_sent_to_the_sign_in_page(door):
    answer = door.get("/")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")


def test_a_stranger_gets_nothing_from_the_json_door(door):
    assert door.get("/api/items").status_code == 401
    assert door.post("/api/items/1/changes", json={}).status_code == 401


def test_a_strangers_socket_is_closed_before_it_opens(door):
    with pytest.raises(WebSocketDisconnect), door.websocket_connect("/_nicegui_ws/socket.io/"):
        pass


def test_a_person_who_signed_in_may_read_change_and_listen(door):
    assert sign_in(door, "Anna").status_code == 204
    assert door.get("/").text == '"season"'
    assert door.post("/api/items/1/changes", json={}).status_code == 200
    with door.websocket_connect("/_nicegui_ws/socket.io/") as socket:
        assert socket.receive_text() == "open"


def test_a_person_who_may_look_cannot_change(door):
    sign_in(door, "Ben")
    assert door.get("/").status_code == 200
    answer = door.post("/api/items/1/changes", json={})
    assert answer.status_code == 403
    assert "look" in answer.text


def test_a_role_taken_away_works_at_once(door, shelf):
    sign_in(door, "Anna")
    shelf.set_role("Anna", "view")
    assert door.post("/api/items/1/changes", json={}).status_code == 403
    shelf.remove_person("Anna")
    assert door.get("/").status_code == 303


@pytest.mark.parametrize("way", ["taken away", "signed out", "hours over"])
def test_an_open_page_of_a_person_who_is_gone_hears_nothing_more(door, shelf, clock, way):
    sign_in(door, "Anna")
    with door.websocket_connect("/_nicegui_ws/socket.io/") as socket:
        assert socket.receive_text() == "open"
        socket.send_text("an edit")
        assert socket.receive_text() == "figures after an edit"
        if way == "taken away":
            shelf.remove_person("Anna")
        elif way == "signed out":
            door.post("/api/sign-out", json={})
        else:
            clock.now += SESSION_S + 1
        socket.send_text("another edit")
        with pytest.raises(WebSocketDisconnect):
            socket.receive_text()


def test_nothing_is_pushed_to_a_person_who_was_taken_away(door, shelf):
    sign_in(door, "Anna")
    with door.websocket_connect("/_nicegui_ws/tells/") as socket:
        assert socket.receive_text() == "open"
        shelf.remove_person("Anna")
        with pytest.raises(WebSocketDisconnect):
            socket.receive_text()


def test_somebody_who_gets_the_name_of_a_person_taken_away_does_not_get_their_session(door, shelf):
    sign_in(door, "Anna")
    shelf.remove_person("Anna")
    shelf.add_person("Anna", hash_of("another thread altogether"), "edit")
    assert door.get("/").status_code == 303


def test_signing_out_ends_the_session(door):
    sign_in(door, "Anna")
    word = door.cookies[COOKIE]
    assert door.post("/api/sign-out", json={}).status_code == 204
    assert door.get("/", headers={"cookie": f"{COOKIE}={word}"}).status_code == 303


def test_a_session_ends_after_its_hours(sessions, clock, door):
    sign_in(door, "Anna")
    clock.now += SESSION_S + 1
    assert door.get("/").status_code == 303


def test_the_cookie_is_out_of_reach_for_scripts_and_other_sites(door):
    flags = sign_in(door, "Anna").headers["set-cookie"].casefold()
    assert "httponly" in flags
    assert "samesite=strict" in flags


def test_over_tls_the_cookie_never_travels_in_the_open(sessions, door):
    secure = TestClient(door.app, base_url="https://testserver", follow_redirects=False)
    assert "secure" in sign_in(secure, "Anna").headers["set-cookie"].casefold()


def test_no_answer_and_no_record_holds_a_password(door, shelf):
    answer = sign_in(door, "Anna", "a wrong password of hers")
    assert "a wrong password of hers" not in answer.text
    kept = shelf.person("Anna").password_hash
    assert kept.startswith("$argon2")
    assert PASSWORD not in kept


def test_wrong_passwords_make_a_name_wait_whoever_asks(sessions):
    for tried in range(MOST_TRIES):
        with pytest.raises(Problem, match="do not belong together"):
            sessions.sign_in("Anna", "not this one", f"10.0.0.{tried}")
    with pytest.raises(Problem, match="wait"):
        sessions.sign_in("Anna", PASSWORD, "10.0.0.200")


@pytest.mark.parametrize("writing", ["Anna{spaces}", "{spaces}Anna", "ANNA{spaces}", "Anna{tabs}"])
def test_the_same_name_written_otherwise_is_counted_as_the_same(sessions, writing):
    answers = Counter()
    for tried in range(MOST_TRIES + 3):
        name = writing.format(spaces=" " * tried, tabs="\t" * tried)
        with pytest.raises(Problem) as refused:
            sessions.sign_in(name, "not this one", f"10.0.1.{tried}")
        answers["wait" in refused.value.sentence()] += 1
    assert answers == {False: MOST_TRIES, True: 3}


def test_thirty_guesses_at_once_are_no_more_than_thirty_in_a_row(sessions):
    def guess(number: int) -> str:
        with pytest.raises(Problem) as refused:
            sessions.sign_in("Anna", f"guess number {number}", f"10.0.2.{number}")
        return refused.value.what

    with ThreadPoolExecutor(30) as hands:
        said = Counter(hands.map(guess, range(30)))
    assert said["name and password do not belong together."] == MOST_TRIES


def test_wrong_passwords_make_an_address_wait_whatever_the_name(sessions):
    for tried in range(MOST_TRIES):
        with pytest.raises(Problem, match="do not belong together"):
            sessions.sign_in(f"guess {tried}", "not this one", "10.0.0.9")
    with pytest.raises(Problem, match="wait"):
        sessions.sign_in("Anna", PASSWORD, "10.0.0.9")
    assert sessions.sign_in("Anna", PASSWORD, "10.0.0.10")


def test_the_wait_ends(sessions, clock):
    for _ in range(MOST_TRIES):
        with pytest.raises(Problem):
            sessions.sign_in("Anna", "not this one", "10.0.0.9")
    clock.now += TRIES_S + 1
    assert sessions.sign_in("Anna", PASSWORD, "10.0.0.9")


def test_an_unknown_name_is_refused_in_the_same_words_as_a_wrong_password(sessions):
    with pytest.raises(Problem) as unknown:
        sessions.sign_in("Nobody", PASSWORD, "10.0.0.1")
    with pytest.raises(Problem) as wrong:
        sessions.sign_in("Anna", "not this one", "10.0.0.2")
    assert unknown.value.sentence() == wrong.value.sentence()


@pytest.mark.parametrize("cookie", ["", "loopwright_session=", "loopwright_session=guess", "a=b; ;;=", "x" * 9000])
def test_no_made_up_cookie_lets_anybody_in(door, cookie):
    assert door.get("/", headers={"cookie": cookie}).status_code == 303


@pytest.mark.parametrize("password", ["", "short", "x" * 201])
def test_a_password_of_a_wrong_length_is_refused(password):
    with pytest.raises(Problem, match="signs"):
        hash_of(password)


def test_the_command_adds_changes_and_removes_a_person(tmp_path, monkeypatch):
    monkeypatch.setenv("LOOPWRIGHT_FOLDER", str(tmp_path))
    monkeypatch.setenv("LOOPWRIGHT_PASSWORD", PASSWORD)
    run = CliRunner()
    assert run.invoke(command, ["person", "Clara", "--role", "view"]).exit_code == 0
    assert run.invoke(command, ["person", "Clara", "--role", "edit", "--json"]).exit_code == 0
    shelf = open_shelf()
    clara = shelf.person("Clara")
    assert clara is not None
    assert clara.role is Role.EDIT
    assert PASSWORD not in clara.password_hash
    assert run.invoke(command, ["person", "Clara", "--remove"]).exit_code == 0
    assert shelf.person("Clara") is None
    refused = run.invoke(command, ["person", "Dora", "--role", "owner"])
    assert refused.exit_code == 2
