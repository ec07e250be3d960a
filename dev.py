#!/usr/bin/env python3
"""The doors of the project, on a machine with nothing but Python 3.11 or newer.

    python3 dev.py demo     set up, then study the example style (the main job) and end
    python3 dev.py open     set up, then open the workroom in the browser (add --port N, --no-browser)
    python3 dev.py test     set up, then run the tests, browser and spreadsheet included (add pytest words to narrow
                            it; -m slow runs the longer proofs, which are left out otherwise)
    python3 dev.py check    format, lint, types, import floors
    python3 dev.py bench    the benchmarks: times of the main job beside named alternatives
    python3 dev.py lock     write the hash-locked requirement files again from requirements/*.in

Standard library only. The first run makes .venv and installs from a hash-locked file; later runs start at once.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import venv
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from devtools import postgresql

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
REQUIREMENTS = ROOT / "requirements"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
EXAMPLE = ROOT / "examples" / "attendant-pullover.toml"
DEMO_FOLDER = ROOT / "demo-study"


class CannotSetUp(Exception):
    """Something that the person at this machine has to do first; the message says what."""


def main(words: Sequence[str]) -> int:
    if sys.version_info < (3, 11):  # noqa: UP036  a bare machine may well start us with something older
        print(f"Loopwright needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
        return 2
    doors: dict[str, Callable[[Sequence[str]], int]] = {
        "demo": demo,
        "open": open_workroom,
        "test": test,
        "check": check,
        "bench": bench,
        "lock": lock,
    }
    if not words or words[0] not in doors:
        print(__doc__)
        return 0 if words[:1] in ([], ["-h"], ["--help"], ["help"]) else 2
    try:
        return doors[words[0]](words[1:])
    except CannotSetUp as obstacle:
        print(f"\nCannot set up: {obstacle}")
        return 2
    except KeyboardInterrupt:
        print("\nStopped.")
        return 130


def demo(words: Sequence[str]) -> int:
    set_up("run")
    return run([PYTHON, "-m", "loopwright", "study", EXAMPLE, "--out", DEMO_FOLDER, *words])


def open_workroom(words: Sequence[str]) -> int:
    set_up("run")
    return run([PYTHON, "-m", "loopwright", "open", *words])


def test(words: Sequence[str]) -> int:
    set_up("dev")
    browser = find_or_install_chromium()
    install_spreadsheet_and_han_face()
    environment = {"LOOPWRIGHT_CHROMIUM": browser or "none"}
    selection = list(words) or ["-n", "2"]
    if "-m" not in selection:
        selection += ["-m", "not slow"]
    with throw_away_postgresql() as url:
        if url:
            environment["LOOPWRIGHT_TEST_POSTGRESQL_URL"] = url
        return run([PYTHON, "-m", "pytest", *selection], environment)


@contextmanager
def throw_away_postgresql() -> Iterator[str]:
    """URL of a PostgreSQL of our own for the shelf's tests; empty, with the reason printed, when none can be had."""
    if os.environ.get("LOOPWRIGHT_TEST_POSTGRESQL_URL"):
        yield ""  # the person has one already
        return
    folder = Path(tempfile.mkdtemp(prefix="loopwright-postgresql-"))
    try:
        find_or_install_postgresql()
        url = postgresql.start(folder)
    except (postgresql.NoServer, CannotSetUp) as obstacle:
        print(f"The shelf is tested on SQLite only: {obstacle}")
        shutil.rmtree(folder, ignore_errors=True)
        yield ""
        return
    try:
        yield url
    finally:
        postgresql.stop(folder)


def find_or_install_postgresql() -> None:
    if postgresql.programs() is not None:
        return
    if not shutil.which("apt-get"):
        raise CannotSetUp("install PostgreSQL, so that initdb and pg_ctl are found")
    install_debian_packages(["postgresql"])


def check(_words: Sequence[str]) -> int:
    set_up("dev")
    steps: list[list[str | Path]] = [
        [PYTHON, "-m", "ruff", "format", "--check", "."],
        [PYTHON, "-m", "ruff", "check", "."],
        [PYTHON, "-m", "mypy"],
        [PYTHON, "-m", "pytest", "tests/test_floors.py"],
    ]
    failed = [step for step in steps if run(step) != 0]
    for step in failed:
        print("failed:", " ".join(str(word) for word in step[1:]))
    return 1 if failed else 0


def bench(words: Sequence[str]) -> int:
    set_up("dev")
    environment = {"LOOPWRIGHT_CHROMIUM": find_or_install_chromium() or "none"}
    names = ["study", "shaping", "mechanics", "workroom", "pack"]
    names += ["swatch_learning", "swatch_photo", "swatch_references"]
    return max(run([PYTHON, ROOT / "benchmarks" / f"{name}.py", *words], environment) for name in names)


def lock(words: Sequence[str]) -> int:
    set_up("dev")
    for source in sorted(REQUIREMENTS.glob("*.in")):
        command = ["compile", "--quiet", "--universal", "--python-version", "3.11", "--generate-hashes"]
        target = source.with_suffix(".txt")
        code = run([*uv("pip"), *command, "--no-header", "--no-annotate", source, "-o", target, *words])
        if code:
            return code
    return 0


def set_up(requirement_set: str) -> None:
    """Make .venv hold the locked set and the package itself, in place; the dev set contains the run set."""
    if _is_current(requirement_set) or _is_current("dev"):
        return
    print(f"Setting up .venv ({requirement_set} set, hash-locked) …", flush=True)
    for name in ("run", "dev"):
        _stamp_file(name).unlink(missing_ok=True)
    if not _pip_works():
        make_venv()
    pip: list[str | Path] = [PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    must([*pip, "--require-hashes", "-r", REQUIREMENTS / "uv.txt"], "fetch the installer")
    must(
        [*uv("pip"), "sync", "--quiet", "--require-hashes", REQUIREMENTS / f"{requirement_set}.txt"], "install packages"
    )
    in_place: list[str | Path] = ["install", "--quiet", "--no-deps", "--no-build-isolation", "--editable", ROOT]
    must([*uv("pip"), *in_place], "install the package in place")
    _stamp_file(requirement_set).write_text(_fingerprint(requirement_set))


def _stamp_file(requirement_set: str) -> Path:
    return VENV / f"set-up-{requirement_set}.stamp"


def _fingerprint(requirement_set: str) -> str:
    """Changes when the lock, the package's own declaration, the place or the Python changes."""
    parts = [(REQUIREMENTS / f"{requirement_set}.txt").read_bytes(), (ROOT / "pyproject.toml").read_bytes()]
    return hashlib.sha256(b"".join([*parts, str(ROOT).encode(), sys.version.encode()])).hexdigest()


def _is_current(requirement_set: str) -> bool:
    stamp = _stamp_file(requirement_set)
    return PYTHON.exists() and stamp.exists() and stamp.read_text() == _fingerprint(requirement_set)


def _pip_works() -> bool:
    return PYTHON.exists() and succeeds([PYTHON, "-m", "pip", "--version"])


def make_venv() -> None:
    """Make .venv with pip; a bare Debian keeps that part of Python in a package of its own."""
    if shutil.which("apt-get") and not succeeds([sys.executable, "-c", "import ensurepip, venv"]):
        install_debian_packages(["python3-venv"])
        os.execv(sys.executable, [sys.executable, str(ROOT / "dev.py"), *sys.argv[1:]])
    venv.EnvBuilder(clear=True, with_pip=True, symlinks=os.name != "nt").create(VENV)


def find_or_install_chromium() -> str:
    """Path of a Chromium or Chrome for the page tests; empty when none can be had (those tests then say so).

    The driver of the page tests brings its own runtime, which wants libatomic; a bare Debian has neither.
    """
    missing = [] if _browser() else ["chromium"]
    if shutil.which("apt-get") and not succeeds(["dpkg", "-s", "libatomic1"]):
        missing.append("libatomic1")
    if missing and shutil.which("apt-get"):
        try:
            install_debian_packages(missing)
        except CannotSetUp as obstacle:
            print(f"Page tests will be skipped: {obstacle}")
            return ""
    return _browser()


def _browser() -> str:
    names = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
    return next((path for name in names if (path := shutil.which(name))), "")


def install_spreadsheet_and_han_face() -> None:
    """Get a LibreOffice that reckons workbooks without a screen, and a face for Chinese; tests without them say so."""
    if not shutil.which("apt-get"):
        return
    missing = [] if shutil.which("soffice") or shutil.which("libreoffice") else ["libreoffice-calc-nogui"]
    if not succeeds(["dpkg", "-s", "fonts-noto-cjk"]):
        missing.append("fonts-noto-cjk")
    try:
        if missing:
            install_debian_packages(missing)
    except CannotSetUp as obstacle:
        print(f"Workbooks are not tried in another program, or Chinese not printed: {obstacle}")


def install_debian_packages(packages: list[str]) -> None:
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not as_root:
        raise CannotSetUp(f"this Debian lacks {', '.join(packages)}. Run: sudo apt-get install {' '.join(packages)}")
    print(f"Installing {', '.join(packages)} with apt-get …", flush=True)
    quiet_apt: list[str | Path] = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
    must([*quiet_apt, "update"], "read Debian's package lists", quiet=True)
    must([*quiet_apt, "install", "-y", "--no-install-recommends", *packages], "install packages", quiet=True)


def uv(command: str) -> list[str | Path]:
    return [PYTHON, "-m", "uv", command]


def must(command: Sequence[str | Path], purpose: str, *, quiet: bool = False) -> None:
    if run(command, quiet=quiet) != 0:
        raise CannotSetUp(f"could not {purpose}. The command was: {' '.join(str(word) for word in command)}")


def succeeds(command: Sequence[str | Path]) -> bool:
    """Whether a command ends well; what it prints is not shown."""
    words = [str(word) for word in command]
    return subprocess.run(words, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode == 0


def run(command: Sequence[str | Path], environment: dict[str, str] | None = None, *, quiet: bool = False) -> int:
    own = {"VIRTUAL_ENV": str(VENV), "PYTHONUTF8": "1", "PYTHONDONTWRITEBYTECODE": ""}  # compiled once, not each start
    sink = subprocess.DEVNULL if quiet else None
    words = [str(word) for word in command]
    return subprocess.run(words, cwd=ROOT, env={**os.environ, **own, **(environment or {})}, stdout=sink).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
