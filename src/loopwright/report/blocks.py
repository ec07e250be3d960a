"""The few blocks that a sheet is made of; every format shows these and nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field

from loopwright.figure import Figure
from loopwright.problems import Finding
from loopwright.study.cautions import Caution
from loopwright.swatch.limits import chance_words


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead to another page; a format without pages shows the words."""

    text: str
    href: str


@dataclass(frozen=True, slots=True)
class Chance:
    """A probability, 0 to 1: a bar with "73 in 100" beside it; a word under 1 and over 99, a number when `counted`."""

    share: float
    counted: bool = False

    @property
    def text(self) -> str:
        """As a person says it.

        >>> Chance(0.728).text, Chance(0.999).text, Chance(0.0).text
        ('73 in 100', 'nearly sure', 'hardly ever')
        >>> Chance(0.999, counted=True).text
        'over 99 in 100'
        """
        if self.counted:
            return chance_words(self.share)
        if self.share > 0.99:
            return "nearly sure"
        return "hardly ever" if self.share < 0.01 else f"{100 * self.share:.0f} in 100"


Cell = str | Figure | Link | Chance


@dataclass(frozen=True, slots=True)
class Sentence:
    """Words with figures inside."""

    parts: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head; the first column is words, the others numbers unless `words` names them.

    `strong` marks rows to set bold (totals), `base` a column to tint (the base size), `hand_set` cells typed by hand.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str = ""
    words: tuple[int, ...] = (0,)
    strong: frozenset[int] = frozenset()
    base: int | None = None
    hand_set: frozenset[tuple[int, int]] = field(default_factory=frozenset)


@dataclass(frozen=True, slots=True)
class Lines:
    """Plain sentences, one below the other."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """Labelled lines in order of work (a knit-down)."""

    heading: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG text by its name; formats without pictures leave it out."""

    name: str
    svg: str


@dataclass(frozen=True, slots=True)
class Findings:
    """Findings in order of consequence."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Cautions:
    """Cautions, with the line that defers to local rules."""

    cautions: tuple[Caution, ...]


Block = Sentence | Table | Lines | Steps | Picture | Findings | Cautions


@dataclass(frozen=True, slots=True)
class Note:
    """A remark for the margin, beside its section."""

    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Section:
    """A section: key, heading, tally at its right, blocks, notes for the margin, and its one live figure in short."""

    key: str
    heading: str
    tally: str
    blocks: tuple[Block, ...]
    notes: tuple[Note, ...] = ()
    short: str = ""
