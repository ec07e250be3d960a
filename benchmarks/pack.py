"""A factory pack of seven sizes in all formats, beside compiling its PDF alone in the same run.

    python3 dev.py bench            or  .venv/bin/python benchmarks/pack.py

Every pack is of a style whose name was never set before, so that no page is known to the compiler; both sides make the
same pages. Aims: all formats and the cost sheet at most 3 times the PDF, fewer than 40 pages, under 3 MB of pages.
"""

from __future__ import annotations

import io
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from itertools import count

import pypdf

from loopwright.report.pack.leaves import pack_of
from loopwright.report.pack.pages import pack_pdf
from loopwright.report.pack.writing import FORMATS, pack_files
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.web.pack_door import zipped
from study import EXAMPLE, timed

RUNS = 9
TIMES, PAGES, BYTES = 3.0, 40, 3_000_000


def main() -> None:
    study = study_style(read_style(tomllib.loads(EXAMPLE.read_text("utf-8"))))
    fresh = under_other_names(study)
    pages_ms = timed(lambda: pack_pdf(pack_of(next(fresh))), RUNS)
    whole_ms = timed(lambda: pack_files(next(fresh), with_cost=True), RUNS)
    files = pack_files(study, with_cost=True)
    pages = files["specification.pdf"]
    ratio = whole_ms / pages_ms
    print(f"{f'{len(study.sizes)} sizes, pages alone (PDF)':44} {pages_ms:8.0f} ms")
    print(
        f"{'all formats and the cost sheet':44} {whole_ms:8.0f} ms   ({ratio:.2f} × the pages; aim: at most {TIMES:g})"
    )
    for each in FORMATS:
        spent = timed(lambda each=each: pack_files(next(fresh), (each,)), RUNS)
        print(f"{f'  {each}':44} {spent:8.0f} ms")
    print(f"{'pages':44} {len(pypdf.PdfReader(io.BytesIO(pages)).pages):8}      (aim: fewer than {PAGES})")
    print(f"{'bytes of the pages':44} {len(pages):8}      (aim: under {BYTES})")
    print(f"{'bytes of all files, packed in one':44} {len(zipped(files)):8}")


def under_other_names(study: StyleStudy) -> Iterator[StyleStudy]:
    """The study of a style that is called otherwise each time."""
    for number in count(1):
        header = study.style.style
        named = header.model_copy(update={"name": f"{header.name} {number}"})
        yield replace(study, style=study.style.model_copy(update={"style": named}))


if __name__ == "__main__":
    main()
