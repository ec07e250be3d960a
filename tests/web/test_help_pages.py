"""The help: every place has its page, every word its meaning, and what help names is really there."""

import os
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from typer.main import get_command

from loopwright.cli import app
from loopwright.problems import Problem, Sign
from loopwright.store.database import shelf_url
from loopwright.store.values import Kind, Role
from loopwright.web import help as help_pages
from loopwright.web import sign_in
from loopwright.web.api import api_of
from loopwright.web.frame import PLACES
from loopwright.web.help import PAGES, VOCABULARY, help_html, overview_html, title_of, vocabulary, vocabulary_html
from loopwright.web.pages.lists import MOST_TOML
from loopwright.web.pages.season import BACKUP_BYTES

SOURCE = Path(__file__).resolve().parents[2] / "src" / "loopwright"
FOLDER = SOURCE / "web" / "help"
WRITTEN = sorted(path.stem for path in FOLDER.glob("*.md"))
KEYS = re.findall(r'^  \["([^"]+)", "[^"]+"\],$', (SOURCE / "web" / "workroom" / "keys.js").read_text("utf-8"), re.M)
COMMANDS = get_command(app).commands

every_page = pytest.mark.parametrize("page", PAGES)
every_written_page = pytest.mark.parametrize("page", WRITTEN)
every_term = pytest.mark.parametrize("term", vocabulary(), ids=lambda term: term.key)


def text_of_page(page: str) -> str:
    return (FOLDER / f"{page}.md").read_text("utf-8")


def targets(html: str) -> list[str]:
    return re.findall(r'href="([^"]*)"', html)


def places_to_link_to(html: str) -> set[str]:
    return set(re.findall(r' id="([^"]+)"', html))


def code_in(page: str) -> list[str]:
    return re.findall(r"`([^`]+)`", text_of_page(page))


@every_page
def test_a_page_has_one_heading_and_something_to_say(page):
    html = help_html(page)
    assert html.count("<h1>") == 1
    assert f"<h1>{title_of(page)}</h1>" in html
    assert len(re.sub("<[^>]*>", "", html)) > 400


def test_every_written_page_is_listed_and_every_listed_page_is_written():
    assert sorted(WRITTEN) == sorted(set(PAGES) - {VOCABULARY})
    assert all(f'href="/help/{page}"' in overview_html() for page in PAGES)


def test_every_place_of_the_workroom_and_every_kind_of_thing_has_its_page():
    assert {page for page, _, _ in PLACES} | {kind.value for kind in Kind} <= set(PAGES)


def test_every_help_page_that_a_page_asks_for_is_written():
    """The pages name theirs in words; those that take the name of a kind are covered above."""
    asked = set()
    for file in (SOURCE / "web" / "pages").glob("*.py"):
        asked |= set(re.findall(r'help_page="([^"]+)"', file.read_text("utf-8")))
    assert {"season", "history", "first-minute"} <= asked <= set(PAGES)


@every_page
def test_no_link_leads_nowhere(page, house):
    doors = {f"/api{path}" for path, ways in api_of(house).openapi()["paths"].items() if "get" in ways}
    known = doors | {address for _, _, address in PLACES} | {"/help"} | {f"/help/{each}" for each in PAGES}
    anchors = places_to_link_to(vocabulary_html())
    for target in targets(help_html(page)):
        address, _, anchor = target.partition("#")
        assert address in known, target
        assert not anchor or (address == f"/help/{VOCABULARY}" and anchor in anchors), target


@every_written_page
def test_a_word_is_linked_once_on_a_page_and_to_its_own_meaning(page):
    links = re.findall(r'<a href="/help/vocabulary#([^"]+)" class="term">([^<]+)</a>', help_html(page))
    assert links
    assert len({key for key, _ in links}) == len(links)
    names = {term.key: term.name.casefold() for term in vocabulary()}
    assert all(said.casefold() in (names[key], f"{names[key]}s") for key, said in links)


@every_term
def test_a_word_says_what_it_means_and_where_that_stands(term):
    assert re.fullmatch(r"[A-Z].{30,}\.", term.meaning), term.meaning
    assert term.source
    assert f'<dt id="{term.key}"' in vocabulary_html()


def test_no_word_is_explained_twice_under_any_of_its_names():
    said = [name.casefold() for term in vocabulary() for name in (term.name, *term.heard)]
    twice = {name for name in said if said.count(name) > 1}
    assert not twice
    assert len({term.key for term in vocabulary()}) == len(vocabulary())


def test_the_words_of_the_brief_are_among_them():
    names = {term.name for term in vocabulary()}
    wanted = (
        "count, ends, gauge, loop length, tightness factor, overrun, running share, margin, ease, base size, finished"
    )
    assert set(wanted.split(", ")) <= names


def test_every_key_of_the_list_is_explained():
    assert len(KEYS) > 10
    explained = re.findall(r"^\| `([^`]+)` \| \S", text_of_page("keys"), re.M)
    assert explained == KEYS


@every_written_page
def test_what_stands_in_bold_stands_so_in_the_workroom(page):
    """Buttons and headings that help names are words of the pages themselves."""
    files = [*(SOURCE / "web").rglob("*.py"), *(SOURCE / "web").rglob("*.js"), *(SOURCE / "report").rglob("*.py")]
    written = "\n".join(file.read_text("utf-8") for file in files if file.stem != "help")
    signs = {sign.word for sign in Sign}
    for words in re.findall(r"\*\*([^*]+)\*\*", text_of_page(page)):
        plain = words.replace("sleeve of its own", "of its own")
        assert plain in written or plain in signs, words


@every_written_page
def test_commands_and_options_that_help_names_exist(page):
    for code in code_in(page):
        if not code.startswith("loopwright "):
            continue
        verb, *rest = code.split()[1:]
        options = {name for parameter in COMMANDS[verb].params for name in parameter.opts}
        assert {word for word in rest if word.startswith("--")} <= options, code


def test_the_database_address_that_help_gives_is_one(monkeypatch):
    (variable,) = [code for code in code_in("team") if code.endswith("_URL")]
    (address,) = [code for code in code_in("team") if code.startswith("postgresql:")]
    monkeypatch.setenv(variable, address)
    assert shelf_url().get_backend_name() == "postgresql"


def test_the_roles_of_a_team_are_named():
    assert all(re.search(rf"\b{role.value}\b", text_of_page("team")) for role in Role)


def test_limits_that_help_names_are_those_of_the_workroom():
    team, files = text_of_page("team").replace("\n", " "), text_of_page("files").replace("\n", " ")
    assert f"at least {sign_in.SHORTEST} signs" in team
    assert f"lasts {sign_in.SESSION_S // 3600} hours" in team
    assert f"{sign_in.MOST_TRIES} wrong passwords in {sign_in.TRIES_S // 60} minutes" in team
    assert f"may have {MOST_TOML // 1_000_000} MB" in files
    assert f"up to {BACKUP_BYTES // 1_000_000} MB" in files


def test_html_inside_a_page_is_shown_as_text(monkeypatch):
    monkeypatch.setattr(help_pages, "_markdown", lambda page: "# A page\n\nA <script>alert(1)</script> here.\n")
    html = help_pages._rendered.__wrapped__("any")
    assert "<script>" not in html
    assert "&lt;script&gt;" in html


def test_a_page_that_is_not_there_is_refused_in_words():
    with pytest.raises(Problem, match="no page on “crochet”"):
        help_html("crochet")


@pytest.fixture(scope="module")
def workroom(tmp_path_factory) -> Iterator[str]:
    """The address of a workroom of its own on an empty shelf."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    settings = {**os.environ, "LOOPWRIGHT_FOLDER": str(tmp_path_factory.mktemp("shelf"))}
    settings.pop("LOOPWRIGHT_DATABASE_URL", None)
    settings = {key: value for key, value in settings.items() if not key.startswith(("PYTEST", "NICEGUI"))}
    words = [sys.executable, "-m", "loopwright", "open", "--no-browser", "--port", str(port)]
    with subprocess.Popen(words, env=settings, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as served:
        address = f"http://127.0.0.1:{port}"
        try:
            _wait_for(address, served)
            yield address
        finally:
            served.terminate()


def _wait_for(address: str, served: subprocess.Popen) -> None:
    end = time.monotonic() + 900
    while True:
        try:
            urllib.request.urlopen(f"{address}/help", timeout=60).close()
        except (urllib.error.URLError, ConnectionError):
            assert served.poll() is None, "the workroom did not open"
            assert time.monotonic() < end, "the workroom took too long to open"
            time.sleep(0.2)
        else:
            return


def served_page(address: str) -> str:
    with urllib.request.urlopen(address, timeout=300) as answer:
        return unescape(answer.read().decode("utf-8"))


@pytest.mark.parametrize("page", ["", *PAGES])
def test_the_workroom_serves_the_page(workroom, page):
    html = served_page(f"{workroom}/help/{page}" if page else f"{workroom}/help")
    assert f"<title>{title_of(page) if page else 'Help'} · Loopwright</title>" in html


def test_the_workroom_says_when_there_is_no_such_page(workroom):
    assert "there is no page on “crochet”" in served_page(f"{workroom}/help/crochet")
