"""Verbs of yarn and cloth: single questions without a style."""

from __future__ import annotations

from typing import Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, print_json, refuse


@app.command()
def yarn(
    words: Annotated[str, typer.Argument(help='A yarn in trade words: "2/30 Nm wool", "Ne 30/2 cotton".')],
    market: Annotated[str, typer.Option(help="Whose agreed regain counts: EU or US.")] = "EU",
    ends: Annotated[int, typer.Option(help="How many such yarns are fed together.", min=1, max=24)] = 1,
    delivered: Annotated[str | None, typer.Option(help="Mass of a delivery, kg unless said.", metavar="KG")] = None,
    actual_regain: Annotated[float | None, typer.Option(help="Its regain as measured, %.", metavar="PERCENT")] = None,
    as_json: AsJson = False,
) -> None:
    """Counts in all systems, resultant, diameter, twist, invoice mass, and the gauges that suit a yarn.

    With --delivered and --actual-regain: the mass to pay for a delivery.

    A count alone tells its counts and gauges; one that can be read in two ways is asked back, never guessed.
    """
    from loopwright.fabric.suitability import gauge_for_count, rule_holds, suitable_gauges
    from loopwright.problems import Problem
    from loopwright.report.terminal import print_figures
    from loopwright.units import quantity
    from loopwright.yarn.notation import parse_yarn
    from loopwright.yarn.sheet import count_figures, delivery_figure, yarn_figures
    from loopwright.yarn.yarn import yarn_from_words

    try:
        count, fibre = parse_yarn(words)
        if fibre or delivered is not None or actual_regain is not None:
            made = yarn_from_words(words, ends=ends)
            name, figures = made.name, yarn_figures(made, market)
        else:
            name, figures = count.label, count_figures(count, ends)
        if delivered is not None or actual_regain is not None:
            kg = None if delivered is None else quantity(delivered, "kg")
            figures["payable_mass_kg"] = delivery_figure(figures["regain_percent"], kg, actual_regain)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    count_tex = figures["count_tex"].value
    gauges = suitable_gauges(count_tex)
    exact = gauge_for_count(count_tex)
    circular = {rule: gauge_for_count(count_tex, rule) for rule in ("circular_single", "circular_double")}
    if as_json:
        print_json(
            {
                "yarn": name,
                "figures": {key: figure.as_dict() for key, figure in figures.items()},
                "suitable_gauges_needles_per_inch": list(gauges),
                "gauge_by_rule_needles_per_inch": exact,
                "circular_single_needles_per_inch": circular["circular_single"],
                "circular_double_needles_per_inch": circular["circular_double"],
            }
        )
        return
    listed = ", ".join(f"E {gauge}" for gauge in gauges) or "none of the common ones"
    notes = [] if fibre else [f"Diameter, twist and invoice mass need the fibre: “{words.strip()} wool”."]
    notes += [f"Suits flat gauges {listed} (the rule E²/9 gives E {exact:.1f})."]
    jersey = {"circular_single": "single jersey", "circular_double": "double jersey"}
    notes += [
        f"On circular machines: {jersey[rule]} near E {gauge:.0f}."
        for rule, gauge in circular.items()
        if rule_holds(gauge, rule)
    ]
    print_figures(name, figures, console_of(), tuple(notes))


@app.command()
def fabric(
    structure: Annotated[str, typer.Argument(help="A structure by any trade name: jersey, rib-1x1, interlock …")],
    yarn: Annotated[str, typer.Option(help='The yarn in trade words: "2/30 Nm wool".')],
    loop_length: Annotated[str | None, typer.Option(help="Loop length; mm unless said.", metavar="MM")] = None,
    tightness: Annotated[float | None, typer.Option(help="Tightness factor instead, √tex/cm.", metavar="K")] = None,
    state: Annotated[str, typer.Option(help="dry-relaxed, wet-relaxed, fully-relaxed or finished.")] = "fully-relaxed",
    gauge: Annotated[float | None, typer.Option(help="Needles per inch, to check count and loop length.")] = None,
    as_json: AsJson = False,
) -> None:
    """Wales, courses, tightness and its ratio to jamming, mass, thickness, cover, spirality, stretch of a fabric."""
    from loopwright.problems import Problem
    from loopwright.report.blocks import Lines
    from loopwright.report.document import fabric_document
    from loopwright.report.simulated import simulated_table
    from loopwright.report.terminal import print_figures, print_parts
    from loopwright.study.parts import fabric_from_words
    from loopwright.study.simulation import simulation_of

    try:
        made = fabric_from_words(
            structure, yarn, loop_length=loop_length, tightness=tightness, state=state, gauge=gauge
        )
    except Problem as problem:
        refuse(problem, as_json=as_json)
    simulation = simulation_of(made)
    found = (*made.findings, *simulation.findings)
    if as_json:
        findings = [finding.as_dict() for finding in found]
        print_json({**fabric_document(made, simulation), "findings": findings})
        return
    words = (
        f"{made.curl.words[0].upper()}{made.curl.words[1:]}. Unroves {made.run.unroves}; ladders {made.run.ladders}."
    )
    table = simulation.cloth and simulated_table(made.structure.name, simulation, simulation.cloth)
    told = Lines(tuple(f"{finding.sign.word}: {finding.sentence}" for finding in found))
    notation = Lines((*made.structure.notation.lines(), "", words))
    console = console_of()
    print_figures(f"{made.structure.name}, {made.yarn.name}, {state}", made.figures(), console)
    print_parts((table, notation, told) if table else (notation, told), console)


@app.command()
def structures(
    name: Annotated[str | None, typer.Argument(help="One structure, by any trade name.")] = None,
    as_json: AsJson = False,
) -> None:
    """The structures known by name, with their needle notation and what is counted from it."""
    from loopwright.problems import Problem
    from loopwright.structure.library import find_structure, library

    try:
        chosen = [find_structure(name)] if name else list(library().values())
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json({each.key: {"name": each.name, "notation": list(each.notation.lines()),
                                "synonyms": list(each.synonyms)} for each in chosen})  # fmt: skip
        return
    for each in chosen:
        anatomy = each.anatomy
        print(f"{each.key}: {each.name}")
        for line in each.notation.lines():
            print(f"    {line}")
        counted = f"{anatomy.loops} loops, {anatomy.tucks} tucks, {anatomy.floats} floats on {anatomy.needles} needles"
        print(f"    {counted}; {anatomy.passes_per_course:g} feeds for a visible course")
        if each.note:
            print(f"    {each.note}")
