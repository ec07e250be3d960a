"""What to knit next, as the page says it: what is to be made surer, then the swatches, the best hour first.

In: `Advised`. Out: HTML of the ranked list, and the form that asks for it. Each swatch says its reason, and a bar how
much surer an hour of it makes. Not covered: the ranking (`study.next_swatch`).
"""

from __future__ import annotations

from html import escape

from loopwright.draw import theme
from loopwright.figure import is_money, plain
from loopwright.report.blocks import Section
from loopwright.report.learning import MOST_ADVICE
from loopwright.study.next_swatch import Advice, NextSwatch
from loopwright.web.swatch.next_swatch import Advised

BAR_PX = 120
GOALS = (
    ("", "what is least known"),
    ("price", "the price"),
    ("lean", "the lean after washing"),
    ("width", "the width after washing"),
)


def next_section() -> Section:
    """The section, empty until somebody asks."""
    return Section("next", "Knit next", "which swatch makes it surer", ())


def next_form_html(style: int | None) -> str:
    """The form that asks; without a style the page offers those of the shelf."""
    goals = "".join(f'<option value="{key}">{words}</option>' for key, words in GOALS)
    which = "" if style else '<label>For the style <select name="style"></select></label>'
    return (
        f'<form class="next-form" data-keep data-style="{style or ""}"><p class="says-of">{which}'
        f'<label>To make surer <select name="wanted">{goals}</select></label></p>'
        '<p class="acts"><button class="button">Work it out</button></p><p class="why-not" role="alert"></p></form>'
        '<div class="next-found" data-keep></div>'
    )


def advice_html(advised: Advised) -> str:
    """The ranked list."""
    advice = advised.advice
    shown = advice.swatches[:MOST_ADVICE]
    most = max((each.gain_per_hour for each in shown), default=0.0)
    rows = "".join(_swatch_html(each, advice, most) for each in shown)
    said = f'<p class="said" tabindex="-1">{escape(_goal_words(advice))}</p>'
    return f'{said}{_counted_html(advised)}<ol class="next">{rows}</ol>'


def _goal_words(advice: Advice) -> str:
    goal = advice.goal
    digits = _digits(advice)
    said = f"The {goal.name} is known to {plain(goal.value, digits)} ± {plain(advice.spread, digits)} {goal.unit}."
    if advice.risk is None or goal.limit is None:
        return said
    return f"{said} Chance that it lies beyond ± {goal.limit:g} %: {plain(100 * advice.risk, 0)} %."


def _counted_html(advised: Advised) -> str:
    names = advised.swatches
    if not names:
        return '<p class="line">No swatch lies in the drawer yet; the tables alone are counted.</p>'
    many = f"{len(names)} swatch{'' if len(names) == 1 else 'es'} of the drawer counted"
    return f'<p class="line">{escape(many)}: {escape(", ".join(names))}.</p>'


def _swatch_html(swatch: NextSwatch, advice: Advice, most: float) -> str:
    words, reason = swatch.candidate.words, swatch.reason.partition(": ")[2]
    digits = _digits(advice)
    less = f"−{plain(swatch.gain_per_hour, digits + 1)} {advice.goal.unit} an hour"
    across = BAR_PX * swatch.gain_per_hour / most if most > 0 else 0.0
    bar = (
        f'<svg viewBox="0 0 {BAR_PX} 8" width="{BAR_PX}" height="8" aria-hidden="true">'
        f'<rect width="{across:.1f}" height="8" fill="{theme.INK}"/></svg>'
    )
    return (
        f"<li><p><b>{escape(words)}</b></p><p>{escape(reason[:1].upper() + reason[1:])}</p>"
        f'<p class="less">{bar} {escape(less)}</p></li>'
    )


def _digits(advice: Advice) -> int:
    return 2 if is_money(advice.goal.unit) else 1
