"""The door of the workroom: who may speak to it, how much may be sent, and what its pages may load."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pytest
from starlette.types import Message, Receive, Scope, Send

from loopwright.web.guard import HEADERS, Guard

LIMIT = 1_000
OURS = [("host", "localhost:8027")]
JSON = ("content-type", "application/json")
Pairs = Sequence[tuple[str, str]]


@dataclass
class Workroom:
    """A workroom that notes whether a request came in, and how much of it was read to the end."""

    reached: bool = False
    read_to_the_end: bool = False
    answered: list[Message] = field(default_factory=list)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.reached = True
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.accept"})
            return
        while (await receive()).get("more_body"):
            pass
        self.read_to_the_end = True
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"knitted"})

    @property
    def status(self) -> int:
        return next(each["status"] for each in self.answered if each["type"] == "http.response.start")

    @property
    def words(self) -> str:
        return b"".join(each.get("body", b"") for each in self.answered).decode()

    @property
    def headers(self) -> Mapping[str, str]:
        start = next(each for each in self.answered if each["type"] == "http.response.start")
        return {name.decode().lower(): value.decode() for name, value in start["headers"]}


async def knock(
    headers: Pairs, *, method: str = "GET", path: str = "/", body: Iterable[bytes] = (), kind: str = "http",
    hosts: Sequence[str] = (),
) -> Workroom:  # fmt: skip
    workroom = Workroom()
    chunks = list(body)
    messages: list[Message] = [
        {"type": "http.request", "body": chunk, "more_body": number < len(chunks)}
        for number, chunk in enumerate(chunks, start=1)
    ] or [{"type": "http.request", "body": b"", "more_body": False}]
    if kind == "websocket":
        messages = [{"type": "websocket.connect"}]

    async def receive() -> Message:
        return messages.pop(0)

    async def send(message: Message) -> None:
        workroom.answered.append(message)

    raw = [(name.encode("latin-1"), value.encode("latin-1")) for name, value in headers]
    scope: dict[str, Any] = {"type": kind, "path": path, "headers": raw}
    if kind == "http":
        scope["method"] = method
    await Guard(workroom, hosts=hosts, most_bytes=LIMIT)(scope, receive, send)
    return workroom


@pytest.mark.parametrize(
    "host", ["localhost", "localhost:8027", "LOCALHOST:1", "127.0.0.1", "127.0.0.1:8027", "[::1]:8027", "[::1]"]
)
async def test_the_names_of_this_machine_are_answered(host: str) -> None:
    workroom = await knock([("host", host)])
    assert (workroom.status, workroom.words) == (200, "knitted")


@pytest.mark.parametrize(
    "host",
    [
        "", "evil.example", "127.0.0.1.evil.example", "localhost.evil.example", "evil@localhost",
        "evil:x@localhost:8027", "localhost/evil", "localhost?evil", "localhost#evil", "localhost:8027:1",
        "localhost:x", "localhost evil", "[::1", "[::1]evil", "[::1]@evil", "127.0.0.2", "0.0.0.0",
        "localhost.", "ﬂocalhost".encode().decode("latin-1"), "localhost\\.evil.example",
        "localhost, evil.example", "x" * 100_000,
    ],
)  # fmt: skip
async def test_a_name_that_is_not_ours_is_refused_before_the_workroom_hears_of_it(host: str) -> None:
    workroom = await knock([("host", host)])
    assert workroom.status == 403
    assert not workroom.reached
    assert "does not answer to the name" in workroom.words
    assert len(workroom.words) < 250


async def test_a_request_without_a_host_is_refused() -> None:
    assert (await knock([])).status == 403


@pytest.mark.parametrize("second", ["evil.example", "localhost:8027"])
async def test_two_hosts_are_refused_whichever_comes_first(second: str) -> None:
    hosts = [("host", "localhost:8027"), ("host", second)]
    assert (await knock(hosts)).status == 403
    assert (await knock(hosts[::-1])).status == 403


async def test_a_team_reaches_the_machine_by_the_name_it_was_given_and_by_no_other() -> None:
    assert (await knock([("host", "Knitting.local:8027")], hosts=["knitting.local"])).status == 200
    assert (await knock([("host", "knitting.local:8027")])).status == 403


FOREIGN = [
    "https://evil.example",
    "http://localhost:9999",
    "http://localhost",
    "http://localhost:8027.evil.example",
    "http://evil@localhost:8027",
    "file://localhost:8027",
    "null",
    "",
    "http://[localhost:8027",
    "localhost:8027",
]


@pytest.mark.parametrize("origin", FOREIGN)
async def test_a_page_from_elsewhere_may_neither_ask_nor_open_a_socket(origin: str) -> None:
    asked = await knock([*OURS, ("origin", origin)])
    assert (asked.status, asked.reached) == (403, False)
    socket = await knock([*OURS, ("origin", origin)], path="/_nicegui_ws/socket.io/", kind="websocket")
    assert not socket.reached
    assert [each["type"] for each in socket.answered] == ["websocket.close"]


async def test_a_second_origin_is_looked_at_too() -> None:
    assert (await knock([*OURS, ("origin", "http://localhost:8027"), ("origin", "https://evil.example")])).status == 403


@pytest.mark.parametrize("origin", [[], [("origin", "http://localhost:8027")], [("origin", "https://LOCALHOST:8027")]])
async def test_our_own_page_and_a_plain_program_may_ask_and_open_a_socket(origin: Pairs) -> None:
    assert (await knock([*OURS, *origin])).status == 200
    socket = await knock([*OURS, *origin], kind="websocket")
    assert socket.answered == [{"type": "websocket.accept"}]


async def test_a_socket_that_names_a_foreign_host_is_closed_unheard() -> None:
    socket = await knock([("host", "evil.example"), ("origin", "http://evil.example")], kind="websocket")
    assert not socket.reached


@pytest.mark.parametrize("site", ["cross-site", "same-site", "elsewhere"])
@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
async def test_a_page_from_elsewhere_may_not_change_anything(site: str, method: str) -> None:
    workroom = await knock([*OURS, JSON, ("sec-fetch-site", site)], method=method)
    assert (workroom.status, workroom.reached) == (403, False)


@pytest.mark.parametrize("site", ["same-origin", "none"])
async def test_our_own_page_may_change_things(site: str) -> None:
    assert (await knock([*OURS, JSON, ("sec-fetch-site", site)], method="POST")).status == 200


async def test_a_link_from_elsewhere_may_lead_to_the_workroom() -> None:
    assert (await knock([*OURS, ("sec-fetch-site", "cross-site")])).status == 200


@pytest.mark.parametrize(
    "kind",
    [None, "", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=application/json"],
)
async def test_a_form_in_disguise_is_refused(kind: str | None) -> None:
    sent = [] if kind is None else [("content-type", kind)]
    workroom = await knock([*OURS, *sent], method="POST")
    assert (workroom.status, workroom.reached) == (415, False)


@pytest.mark.parametrize("kind", ["application/json", "Application/JSON; charset=utf-8", "application/octet-stream"])
async def test_json_and_files_come_in(kind: str) -> None:
    assert (await knock([*OURS, ("content-type", kind)], method="POST", body=[b"{}"])).status == 200


@pytest.mark.parametrize("length", ["1001", "-1", "1e3", "", "ten", "²", "9" * 5_000, "+5", "1_0"])
async def test_a_length_beyond_the_limit_or_no_number_is_refused_unread(length: str) -> None:
    workroom = await knock([*OURS, JSON, ("content-length", length)], method="POST")
    assert (workroom.status, workroom.reached) == (413, False)


async def test_a_body_of_just_the_limit_comes_in() -> None:
    sent = [*OURS, JSON, ("content-length", str(LIMIT))]
    assert (await knock(sent, method="POST", body=[b"x" * LIMIT])).status == 200


@pytest.mark.parametrize("length", [[], [("content-length", "5")]])
async def test_a_body_that_grows_past_the_limit_is_cut_off_whatever_length_it_claimed(length: Pairs) -> None:
    workroom = await knock([*OURS, JSON, *length], method="POST", body=[b"x" * 400] * 100)
    assert workroom.status == 413
    assert workroom.reached
    assert not workroom.read_to_the_end


@pytest.mark.parametrize(
    ("headers", "method", "body", "status"),
    [
        (OURS, "GET", [], 200),
        ([("host", "evil.example")], "GET", [], 403),
        ([*OURS, ("origin", "https://evil.example")], "GET", [], 403),
        (OURS, "POST", [], 415),
        ([*OURS, JSON, ("content-length", "9999")], "POST", [], 413),
        ([*OURS, JSON], "POST", [b"x" * 2_000], 413),
    ],
)
async def test_every_answer_carries_the_policy_refusals_too(
    headers: Pairs, method: str, body: Sequence[bytes], status: int
) -> None:
    workroom = await knock(headers, method=method, body=body)
    assert workroom.status == status
    assert HEADERS.items() <= workroom.headers.items()
    assert "frame-ancestors 'none'" in workroom.headers["content-security-policy"]


async def test_the_start_of_the_program_passes_untouched() -> None:
    workroom = Workroom()

    async def lifespan(scope: Scope, receive: Receive, send: Send) -> None:
        workroom.reached = True

    async def nothing() -> Message:
        return {}

    async def send(_: Message) -> None:
        return

    await Guard(lifespan)({"type": "lifespan"}, nothing, send)
    assert workroom.reached
