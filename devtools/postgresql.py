"""A PostgreSQL server of its own for the tests: made in a folder, on a free port of this machine, gone afterwards.

Standard library only. The server listens on the loopback address alone and trusts who asks there; it never waits for
the disk, so it is for throw-away data. PostgreSQL refuses to run as the super-user, who hands over to `postgres`.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
from collections.abc import Sequence
from pathlib import Path

DEBIAN = Path("/usr/lib/postgresql")
SERVER_USER = "postgres"
SETTINGS = {
    "listen_addresses": "127.0.0.1",
    "unix_socket_directories": "''",
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "max_connections": "200",
}


class NoServer(Exception):
    """PostgreSQL is not there or does not start; the message says why."""


def programs() -> Path | None:
    """The folder with the newest initdb and pg_ctl of this machine."""
    found = [each.parent for each in DEBIAN.glob("*/bin/initdb")]
    on_path = shutil.which("initdb")
    if on_path:
        found.append(Path(on_path).resolve().parent)
    return max(found, key=_version, default=None)


def _version(folder: Path) -> int:
    return int(folder.parent.name) if folder.parent.name.isdigit() else 0


def start(folder: Path) -> str:
    """Make a server in `folder`, which is not there yet or empty, and start it: the URL of its database.

    The folders above must be open to the server's user; a fresh temporary folder may be given as it is.

    Raises:
        NoServer: PostgreSQL is not installed, or refused.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if _is_super_user():
        shutil.chown(folder, SERVER_USER, SERVER_USER)
    data, port = folder / "data", _free_port()
    _run("initdb", "-D", data, "-U", SERVER_USER, "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
    words = " ".join(f"-c {name}={value}" for name, value in SETTINGS.items())
    options = f"-p {port} {words}"
    _run("pg_ctl", "-D", data, "-l", folder / "log", "-o", options, "-w", "-t", "60", "start")
    return f"postgresql://{SERVER_USER}@127.0.0.1:{port}/postgres"


def stop(folder: Path) -> None:
    """Stop the server of `folder` and take the folder away."""
    if (folder / "data" / "postmaster.pid").exists():
        _run("pg_ctl", "-D", folder / "data", "-m", "immediate", "-w", "stop")
    shutil.rmtree(folder, ignore_errors=True)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _is_super_user() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _run(program: str, *words: str | Path) -> None:
    folder = programs()
    if folder is None:
        raise NoServer("PostgreSQL is not installed")
    command = [str(folder / program), *map(str, words)]
    if _is_super_user():
        command = [*_as_server_user(), *command]
    # The server outlives pg_ctl, so it must not hold our output open.
    answer = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                            cwd="/", check=False)  # fmt: skip
    if answer.returncode:
        raise NoServer(f"{program} ended with code {answer.returncode}")


def _as_server_user() -> Sequence[str]:
    """The words that hand a command over to the server's user."""
    for words in (("runuser", "-u", SERVER_USER, "--"), ("setpriv", f"--reuid={SERVER_USER}", "--init-groups")):
        if shutil.which(words[0]):
            return words
    raise NoServer("neither runuser nor setpriv is there to start PostgreSQL as another user")
