"""What needs the developer: findings that join several parts of a study, each with both numbers and what to try.

In: worked sizes, fabrics, price. Out: findings. Findings of one part (gauge, jam, bed, cap, rounding) come from that
part; here are those that need more than one. Source: production reference 1.8, 6, 7.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from loopwright.fabric.fabric import Fabric
from loopwright.fabric.relaxation import change_between
from loopwright.fabric.suitability import loop_is_within_reach
from loopwright.figure import State, plain
from loopwright.garment.set_in import needed_extension_percent
from loopwright.makeup.dial import dial_for_gauge, draw_findings, points_per_cm
from loopwright.problems import Finding, Problem, Sign
from loopwright.shaping.plan import GarmentPlan
from loopwright.sources.table import cite
from loopwright.study.pricing import Pricing
from loopwright.study.style import Style


def neck_findings(
    plan: GarmentPlan, fabrics: Mapping[str, Fabric], minimum_cm: float, dial: float | None
) -> list[Finding]:
    """Whether the neck opens over a head: the band's own stretch, and the linked seam."""
    trim = plan.neck_trim
    if trim is None:
        return []
    band, girth = fabrics[trim.rib_zone], trim.rib_needles / trim.gauge.rib_needles_per_cm
    need = needed_extension_percent(girth_cm=girth, minimum_cm=minimum_cm)
    stretch = band.stretch.width_percent
    where = f"{trim.name}, size {plan.size}"
    sentence = (
        f"The {trim.name} lies {plain(girth, 1)} cm round and must open to {plain(minimum_cm, 0)}: a stretch of "
        f"{plain(max(need, 0), 0)} %; {band.structure.name} gives {plain(stretch.low, 0)} to "
        f"{plain(stretch.high, 0)} %."
    )
    tries: tuple[str, ...] = ("a wider neck", "more needles in the band", "a slacker rib")
    if need > stretch.high:
        sign = Sign.STOPS
    elif need > stretch.low:
        sign = Sign.DECIDE
    else:
        sign, tries = Sign.HOLDS, ()
    found = [Finding(sign, where, sentence, tries, weight=need / stretch.value, source=stretch.why.source)]
    if dial is not None:
        seam = trim.rib_needles / points_per_cm(dial)
        if seam < minimum_cm:
            more = 100 * (minimum_cm / seam - 1)
            text = (
                f"The linked neck seam has {trim.rib_needles} points on a {plain(dial, 0)}-point dial, "
                f"{plain(seam, 1)} cm; to reach {plain(minimum_cm, 0)} its chain must give {plain(more, 0)} %."
            )
            sign = Sign.DECIDE if more > SEAM_GIVES_PERCENT else Sign.KNOW
            found.append(
                Finding(sign, where, text, ("link slack", "a coarser dial", "a two-thread chain"), weight=more / 100)
            )
    return found


SEAM_GIVES_PERCENT = 30.0  # prior: a slack linking chain opens about this much before it strains


def rib_findings(plan: GarmentPlan, hem: Fabric, tolerance_cm: float, gauge: float | None) -> list[Finding]:
    """Whether the hem rib lies as wide as it should, on the needles of the panel."""
    panel, wanted = plan.first, plan.measures.by_name.get("half_hem")
    density = hem.geometry.needles_per_cm
    if wanted is None or not panel.rib_courses:
        return []
    real = panel.rib_needles / density.value
    if abs(real - wanted) <= tolerance_cm:
        return []
    narrow, wide = panel.rib_needles / density.high, panel.rib_needles / density.low
    loop = hem.geometry.loop_length_mm.value * wanted / real
    knits = gauge is None or loop_is_within_reach(hem.structure, loop, gauge)
    sentence = (
        f"The hem rib on {panel.rib_needles} needles lies {plain(real, 1)} cm wide ({plain(narrow, 0)} to "
        f"{plain(wide, 0)}), wanted {plain(wanted, 1)} ± {plain(tolerance_cm, 1)}."
    )
    first = f"a loop of {plain(loop, 2)} mm in the rib" if knits else "another rib, or needles dropped at the join"
    tries = (first, f"a swatch of {hem.structure.name}", "another half hem")
    sign = Sign.KNOW if narrow <= wanted <= wide else Sign.DECIDE
    where = f"hem rib, size {plan.size}"
    return [Finding(sign, where, sentence, tries, weight=abs(real - wanted) / wanted, source=density.why.source)]


def linking_findings(style: Style, base: GarmentPlan, fabrics: Mapping[str, Fabric]) -> list[Finding]:
    """Whether the linking dial suits what is linked on it loop by loop: the shoulders, and the band on the neck."""
    dial = linking_dial(style)
    if dial is None:
        return _no_dial(style)
    found: list[Finding] = []
    if any(join.name == "shoulders" for join in base.joins):
        shoulder = fabrics["body"].geometry.needles_per_cm.value
        found += draw_findings(wales_per_cm=shoulder, dial_points_per_inch=dial, seam="shoulder")
    if base.neck_trim is not None and base.neck_seam_cm:
        band = base.neck_trim.rib_needles / base.neck_seam_cm
        found += draw_findings(wales_per_cm=band, dial_points_per_inch=dial, seam=base.neck_trim.name)
    return found


def linking_dial(style: Style) -> float | None:
    """Points per inch of the linking dial: named, or the usual one for the gauge; none finer than the gauge is told
    by `linking_findings`.
    """
    if style.construction.linking_dial is not None:
        return float(style.construction.linking_dial)
    return dial_for_gauge(style.machine.gauge) if style.machine and not _no_dial(style) else None


def _no_dial(style: Style) -> list[Finding]:
    """A gauge that is finer than any dial: what is linked point by point has to be joined otherwise."""
    if style.machine is None or style.construction.linking_dial is not None:
        return []
    try:
        dial_for_gauge(style.machine.gauge)
    except Problem as problem:
        return [Finding(Sign.DECIDE, problem.where, problem.what, problem.tries, weight=1.0)]
    return []


def price_findings(style: Style, pricing: Pricing) -> list[Finding]:
    """The price against the developer's target and a factory's quote."""
    return list(_price(style, pricing))


def _price(style: Style, pricing: Pricing) -> Iterator[Finding]:
    fob = pricing.sheet.fob
    price, currency = float(fob.amount.amount), pricing.sheet.currency
    target, quoted = style.targets.price, style.targets.quoted_price
    if target is not None and pricing.drawn.fob.chance is not None:
        chance = chance_words(pricing.drawn.fob.chance)
        over = price - target
        first = pricing.spread.fob.shares[0].words if pricing.spread.fob.shares else "nothing"
        side = "over" if over > 0 else "under"
        sentence = (
            f"The price of {plain(price, 2)} {currency} is {plain(abs(over), 2)} {side} your target of "
            f"{plain(target, 2)}; it is met in {chance}. What is least sure in it: {first}."
        )
        enough = pricing.meets_target.pieces if pricing.meets_target else None
        tries = [f"{plain(enough, 0)} pieces"] if enough and over > 0 else []
        sign = Sign.DECIDE if over > 0 else Sign.HOLDS
        consequence = f"{'+' if over > 0 else '−'}{plain(abs(over), 2)} {currency}"
        yield Finding(sign, "price", sentence, tuple(tries), consequence, abs(over) / target if target else 0.0)
    if quoted is not None:
        fits = round(pricing.law.fixed / (quoted - pricing.law.variable)) if quoted > pricing.law.variable else None
        inside = fob.figure.low <= quoted <= fob.figure.high
        reading = f" It would fit an order of {plain(fits, 0)} pieces." if fits and not inside else ""
        sentence = (
            f"The factory asks {plain(quoted, 2)} {currency}; our reading is {plain(price, 2)}, nine in ten between "
            f"{plain(fob.figure.low, 2)} and {plain(fob.figure.high, 2)}.{reading}"
        )
        sign = Sign.KNOW if inside else Sign.DECIDE
        yield Finding(sign, "price", sentence, ("ask which minutes and which programming they count",), weight=0.1)


def chance_words(chance: float) -> str:
    """A chance as a person says it; under 1 and over 99 are words.

    >>> chance_words(0.184), chance_words(0.999), chance_words(0.002)
    ('18 of 100 cases', 'nearly every case', 'hardly any case')
    """
    if chance > 0.99:
        return "nearly every case"
    if chance < 0.01:
        return "hardly any case"
    return f"{100 * chance:.0f} of 100 cases"


def state_findings(body: Fabric) -> list[Finding]:
    """Measures that hold only before washing."""
    if body.geometry.state in (State.FULLY_RELAXED, State.FINISHED):
        return []
    after = change_between(body.structure, body.geometry.state, State.FULLY_RELAXED)
    sentence = (
        f"The panels are shaped on {body.geometry.state.value} cloth: their measures hold before washing. After it the "
        f"length changes by {plain(after.length_percent.value, 0)} %, the width by "
        f"{plain(after.width_percent.value, 0)} %."
    )
    tries = ('state = "fully-relaxed"', "a swatch counted after washing and finishing")
    return [Finding(Sign.DECIDE, "body", sentence, tries, weight=1.0, source=after.length_percent.why.source)]


def curl_findings(fabrics: Mapping[str, Fabric]) -> list[Finding]:
    """Edges that roll: a hem, cuff or band in a fabric that does not lie flat."""
    rolling = [
        zone for zone in ("hem", "cuff", "neckband") if zone in fabrics and fabrics[zone].curl.ends.value >= ROLLS
    ]
    if not rolling:
        return []
    cloth = fabrics[rolling[0]]
    sentence = f"The {', '.join(rolling)} in {cloth.structure.name} will roll up: {cloth.curl.words}."
    return [
        Finding(Sign.DECIDE, rolling[0], sentence, ("a rib", "a doubled hem", "keep it as a rolled edge"), weight=0.5)
    ]


ROLLS = 3.0  # curl rank from which an edge does not lie flat

DEPARTS_FROM = "FOB"  # what our price line means


def order_findings(style: Style, chest_ease_cm: float | None) -> list[Finding]:
    """An order or a garment that says the same thing in two ways."""
    found = []
    order, garment = style.order, style.garment
    total = sum(order.size_mix.values()) if order else 0.0
    if order and total and abs(total - order.pieces) > 0.5:
        mix, pieces = plain(total, 0), plain(order.pieces, 0)
        sentence = f"The size mix adds to {mix}, the order has {pieces} pieces; it is taken as shares."
        found.append(Finding(Sign.KNOW, "order.size_mix", sentence, ("make them agree",), weight=0.1))
    if order and order.terms and not order.terms.upper().startswith(DEPARTS_FROM):
        sentence = f"The order is on terms “{order.terms}”; the price line is FOB, the landed cost adds freight, duty."
        found.append(Finding(Sign.KNOW, "order.terms", sentence, weight=0.1))
    given = garment.chest_ease_cm if garment else None
    if given is not None and chest_ease_cm is not None and abs(given - chest_ease_cm) > 0.5:
        sentence = (
            f"The ease on the chest is given as {given:+g} cm, and the half chest typed makes it {chest_ease_cm:+.1f}; "
            "the half chest counts."
        )
        found.append(Finding(Sign.KNOW, "garment.chest_ease_cm", sentence, ("keep one of the two",), weight=0.2))
    return found


def child_findings(style: Style, tallest_cm: float | None) -> list[Finding]:
    """What children's sizes do not allow."""
    garment = style.garment
    if garment is None or garment.population != "children":
        return []
    found = []
    if garment.cords:
        young = tallest_cm is not None and tallest_cm <= CORDS_FROM_HEIGHT_CM
        rule = (
            "no cords at hood or neck up to 134 cm of height (7 years)"
            if young
            else "short free ends only above 7 years"
        )
        sentence = f"Cords on children's sizes: {rule}; in the United States none at hood or neck in sizes 2T to 12."
        tries = ("no cords", "an elastic", "see the cautions, and your market's rules")
        found.append(
            Finding(
                Sign.STOPS,
                "cords",
                sentence,
                tries,
                weight=2.0,
                source=f"{cite('en_14682', status='memory')}; {cite('astm_f1816')}",
            )
        )
    if garment.buttons:
        count = f"{garment.buttons} button{'s' * (garment.buttons > 1)}"
        sentence = (
            f"{count} on children's sizes must hold 70 to 90 N, and under 3 years be too large for the small-parts "
            "cylinder."
        )
        found.append(Finding(Sign.DECIDE, "buttons", sentence, ("no loose parts", "test every lot"), weight=1.0))
    return found


CORDS_FROM_HEIGHT_CM = 134.0  # EN 14682, from memory


def target_findings(style: Style, minutes: float | None, grams: float) -> list[Finding]:
    """Minutes and mass against the developer's limits."""
    found = []
    if style.targets.minutes is not None and minutes is not None and minutes > style.targets.minutes:
        sentence = f"Knitting takes {plain(minutes, 1)} minutes; your limit is {plain(style.targets.minutes, 1)}."
        tries = ("three needles at each narrowing", "a machine with more systems", "a coarser gauge")
        found.append(Finding(Sign.DECIDE, "knitting", sentence, tries, weight=minutes / style.targets.minutes - 1))
    if style.targets.piece_mass_g is not None and grams > style.targets.piece_mass_g:
        sentence = f"A piece takes {plain(grams, 0)} g; your limit is {plain(style.targets.piece_mass_g, 0)}."
        tries = ("a finer yarn", "a longer loop", "shorter ribs")
        found.append(Finding(Sign.DECIDE, "yarn", sentence, tries, weight=grams / style.targets.piece_mass_g - 1))
    return found


def once_per_place(findings: Sequence[Finding], sizes: Sequence[str]) -> list[Finding]:
    """Findings that repeat from size to size, said once for all sizes they hold in, in the words of the worst one."""
    groups: dict[tuple[str, Sign, str], list[Finding]] = {}
    for finding in findings:
        place, kind = _without_size(finding.where, sizes), _without_numbers(finding.sentence, sizes)
        groups.setdefault((place, finding.sign, kind), []).append(finding)
    return [_merged(group) for group in groups.values()]


def _without_numbers(sentence: str, sizes: Sequence[str]) -> str:
    """A sentence without its numbers and its size: findings of one kind read alike, others at the same place do not."""
    for size in sizes:
        sentence = sentence.replace(f"ize {size}:", "ize:")
    return re.sub(r"[\d.,\s−]+", " ", sentence)


def _without_size(where: str, sizes: Sequence[str]) -> str:
    for size in sizes:
        where = where.removesuffix(f", size {size}")
    return where


def _merged(group: Sequence[Finding]) -> Finding:
    worst = max(group, key=lambda finding: finding.weight)
    others = dict.fromkeys(
        finding.where.rpartition("size ")[2] for finding in group if finding is not worst and "size" in finding.where
    )
    others.pop(worst.where.rpartition("size ")[2], None)
    if not others:
        return worst
    sentence = f"{worst.sentence} Likewise in {', '.join(others)}."
    return Finding(worst.sign, worst.where, sentence, worst.tries, worst.consequence, worst.weight, worst.source)
