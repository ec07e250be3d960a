"""Build the atlas of simulated fabrics that the package ships: every structure of the library over loop lengths.

    .venv/bin/python builders/atlas.py --runner 2              two processes (or tcp://host:8786 for a Dask cluster)
    .venv/bin/python builders/atlas.py --only plain,rib-1x1    some chapters; the others stay as they are

Chapters are written one by one to `builders/atlas-chapters`: a build that was stopped goes on where it was, and a
chapter is made anew when its notation, its loop lengths or the model's version have changed. At the end all chapters
are packed into `src/loopwright/mechanics/data/atlas.npz` with a header: program and model version, parameters, how each
loop length ended.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from loopwright import __version__
from loopwright.mechanics.chapter import DENSITY, FIRM, START, chapter_of
from loopwright.mechanics.fields import FIELDS, LEAN_SETS, SETS, TENSIONS, TURNS
from loopwright.mechanics.live import MODEL
from loopwright.mechanics.loops import AXIAL, TORSION, repeat_of
from loopwright.mechanics.state import TOUCH
from loopwright.mechanics.stored import arrays_of, decoded, encoded, words_of
from loopwright.runner import runner_for
from loopwright.structure.library import Structure, library

ROOT = Path(__file__).resolve().parents[1]
CHAPTERS = ROOT / "builders" / "atlas-chapters"
ATLAS = ROOT / "src" / "loopwright" / "mechanics" / "data" / "atlas.npz"

# loop lengths over diameter by the number of nodes of a repeat at 17: large repeats are solved at fewer
GRIDS: tuple[tuple[int, tuple[float, ...], bool], ...] = (
    (130, (12, 13, 14, 15, 16, 17, 18, 19, 20, 22, 24, 26), True),
    (200, (12, 14, 16, 17, 18, 20, 23, 26), True),
    (500, (14, 17, 20, 24), True),
    (10_000, (17, 20), False),
)


def main(words: list[str]) -> int:
    """Solve what is missing and pack."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--runner", default="2", help="processes, or the address of a cluster")
    asked.add_argument("--only", default="", help="keys of structures, with commas")
    options = asked.parse_args(words)
    CHAPTERS.mkdir(exist_ok=True)
    keys = [key for key in options.only.split(",") if key] or list(library())
    jobs = [job for key in keys if not _file(job := _job(library()[key])).exists()]
    jobs.sort(key=lambda job: job["nodes"])
    print(f"{len(jobs)} chapters to solve, {len(keys) - len(jobs)} are there", flush=True)
    began = time.monotonic()

    def ready(index: int, seconds: Any) -> None:
        print(f"{time.monotonic() - began:7.0f} s  {jobs[index]['key']}: {seconds:.0f} s", flush=True)

    runner_for(options.runner).map(solve, jobs, ready)
    pack([_job(structure) for structure in library().values()])
    return 0


def _job(structure: Structure) -> dict[str, Any]:
    nodes = len(repeat_of(structure, 17).q)
    _, ratios, full = next(grid for grid in GRIDS if nodes <= grid[0])
    lines = structure.notation.lines()
    job = {"key": structure.key, "lines": lines, "ratios": ratios, "full": full, "nodes": nodes}
    says = json.dumps([MODEL, lines, structure.notation.gating.value, ratios, full, dict(structure.ratios)])
    return job | {"digest": hashlib.sha256(says.encode()).hexdigest()[:12]}


def _file(job: dict[str, Any]) -> Path:
    return CHAPTERS / f"{job['key']}-{job['digest']}.npz"


def solve(job: dict[str, Any]) -> float:
    """Solve one chapter and write it; seconds taken."""
    began = time.monotonic()
    chapter = chapter_of(library()[job["key"]], job["ratios"], full=job["full"])
    words = words_of(chapter) | {"seconds": round(time.monotonic() - began, 1)}
    unfinished = _file(job).with_suffix(".part")
    unfinished.write_bytes(encoded(chapter.key, words, arrays_of(chapter)))
    unfinished.replace(_file(job))
    return time.monotonic() - began


def pack(jobs: list[dict[str, Any]]) -> None:
    """All chapters that are there into one file."""
    arrays: dict[str, Any] = {}
    chapters: dict[str, Any] = {}
    for job in jobs:
        if not _file(job).exists():
            print(f"not there: {job['key']}")
            continue
        words, part = decoded(_file(job).read_bytes())
        chapters[job["key"]] = words
        arrays |= {f"{job['key']}/{name}": data for name, data in part.items()}
    header = {
        "program": __version__,
        "model": MODEL,
        "parameters": {
            "hardness": TOUCH.hardness,
            "exponent": TOUCH.exponent,
            "points_per_edge": TOUCH.points,
            "axial": AXIAL,
            "torsion": TORSION,
            "nodes_per_diameter": DENSITY,
            "start": START,
            "firm": FIRM,
        },
        "fields": FIELDS,
        "sets": SETS,
        "turns": TURNS,
        "lean_sets": LEAN_SETS,
        "tensions": TENSIONS,
        "chapters": chapters,
    }
    ATLAS.parent.mkdir(exist_ok=True)
    text = np.frombuffer(json.dumps(header).encode(), np.uint8)
    unfinished = ATLAS.with_suffix(".part.npz")
    np.savez_compressed(unfinished, header=text, **arrays)
    unfinished.replace(ATLAS)
    print(f"{len(chapters)} chapters, {ATLAS.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
