"""Times of the main job in this process, warm, beside named alternatives in the same run.

    python3 dev.py bench

Absolute times belong to one machine on one day; the ratios are what later runs compare. Alternatives: writing the
study's JSON with orjson, one pydantic validation of the style, a new interpreter that only imports numpy.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import orjson

from loopwright.report.document import study_document
from loopwright.report.files import study_page
from loopwright.study.simulation import simulations_of
from loopwright.study.study import study_style
from loopwright.study.style import Style, read_style

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
EXAMPLE = EXAMPLES / "attendant-pullover.toml"
TARGET_MS = 60.0
ANY_EXAMPLE_MS = 250.0


def main() -> None:
    document = tomllib.loads(EXAMPLE.read_text("utf-8"))
    style = read_style(document)
    study = study_style(style)
    answer = study_document(study)
    options = orjson.OPT_INDENT_2 | orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_NON_STR_KEYS
    fresh = loops_never_seen(document)
    whole = timed(lambda: study_style(next(fresh)), 15)
    classic = loops_never_seen({**document, "construction": {"fashioning": "two-rate"}})
    two_rate = timed(lambda: study_style(next(classic)), 15)
    known = timed(lambda: study_style(style), 15)
    simulated = timed(lambda: simulations_of(study.fabrics, {}), 15)
    write = timed(lambda: orjson.dumps(answer, option=options), 15)
    validate = timed(lambda: read_style(document), 200)
    page = timed(lambda: study_page(study), 7)
    command = [sys.executable, "-m", "loopwright"]
    help_text = timed(lambda: quiet([*command, "--help"]), 5)
    numpy_only = timed(lambda: quiet([sys.executable, "-c", "import numpy"]), 5)
    one_run = timed(lambda: quiet([*command, "study", str(EXAMPLE)]), 5)
    print(f"{'one study, seven sizes, warm':40} {whole:8.1f} ms   (aim: at most {TARGET_MS:.0f})")
    print(f"{'  the same with no new cloth or size':40} {known:8.1f} ms   (an edit of the order or the rates)")
    print(f"{'  of which its cloths simulated':40} {simulated:8.1f} ms")
    print(f"{'  over writing its JSON (orjson)':40} {whole / write:8.1f} ×    ({write:.2f} ms)")
    print(f"{'  over one validation (pydantic)':40} {whole / validate:8.0f} ×    ({validate:.3f} ms)")
    print(f"{'  with the two-rate rule in place of exact':40} {two_rate:8.1f} ms   (exact: {whole - two_rate:.0f} ms)")
    for file in sorted(EXAMPLES.glob("*.toml")):
        described = tomllib.loads(file.read_text("utf-8"))
        each = loops_never_seen(described)
        spent = timed(lambda each=each: study_style(next(each)), 7)
        print(f"{f'  {file.stem}':40} {spent:8.1f} ms   (aim: at most {ANY_EXAMPLE_MS:.0f})")
    print(f"{'HTML sheet with all pictures':40} {page:8.1f} ms")
    print(
        f"{'loopwright --help, new process':40} {help_text:8.0f} ms   ({help_text / numpy_only:.1f} × importing numpy)"
    )
    print(f"{'loopwright study, new process':40} {one_run:8.0f} ms   ({one_run / numpy_only:.1f} × importing numpy)")


def loops_never_seen(document: dict[str, Any]) -> Iterator[Style]:
    """The style with another loop length each time: what the study keeps from the last ones does not help."""
    usual = study_style(read_style(document)).fabrics["body"].geometry.loop_length_mm.value
    for step in count():
        body = {name: value for name, value in document["zones"]["body"].items() if name != "swatch"}
        body["loop_length_mm"] = usual * (1 + step / 5000)
        yield read_style({**document, "zones": {**document["zones"], "body": body}})


def timed(work: Callable[[], object], times: int) -> float:
    """Median milliseconds of a piece of work after one warm-up."""
    work()
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spans.append(1000 * (time.perf_counter() - start))
    return statistics.median(spans)


def quiet(command: list[str]) -> None:
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    main()
