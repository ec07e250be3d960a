"""The command line: a few verbs in trade words, each with `--json` so that other programs can use it.

Exit codes: 0 done, 2 something in the input has to be mended (the message says where and how). Heavy imports stay
inside the verbs so that help starts at once.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from loopwright import __version__

if TYPE_CHECKING:
    from loopwright.problems import Problem
    from loopwright.report.size_files import FileRead
    from loopwright.study.brought_table import Brought
    from loopwright.study.study import StyleStudy
    from loopwright.study.style import Style

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Loopwright: from a knitwear style to a knittable, priced study. Every figure shows its spread "
    "(nine cases in ten) and how it is known: M measured, P published, C common practice, A assumed.",
)

PAPER_WIDTH = 110  # characters of a line when the output is no terminal

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, with the unit in every key, instead of text.")]


def main() -> None:
    """Entry of the command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    app()


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)] = False,
) -> None:
    if version:
        print(f"loopwright {__version__}")
        raise typer.Exit


@app.command()
def study(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    out: Annotated[
        Path | None, typer.Option(help="Folder for study.json and sheet.html; made when it is not there.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Study a style: fabric, panels, knit-down, strokes, make-up and price of every size, with findings.

    Prints a readable sheet. With --out the study is also written as JSON and as one HTML file that needs nothing else.
    A style with parts missing is studied as far as it goes; what was taken is listed. When something in it cannot be
    made, what can be computed is still printed, nothing is written, and the exit code is 2.
    """
    from loopwright.problems import Problem
    from loopwright.report.files import study_json, write_study
    from loopwright.study.study import study_style

    try:
        answer = study_style(_style_from(style))
        written = write_study(answer, out) if out and not answer.refused else ()
    except Problem as problem:
        _refuse(problem, as_json=as_json)
    if as_json:
        sys.stdout.write(study_json(answer).decode("utf-8"))
        _leave_if_refused(answer)
        return
    from loopwright.report.sheet import sheet_of
    from loopwright.report.terminal import print_sheet

    console = _console()
    print_sheet(sheet_of(answer), console)
    for path in written:
        console.print(f"Written: {path}", highlight=False, markup=False, soft_wrap=True)
    _leave_if_refused(answer)


@app.command()
def sizes(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    bring: Annotated[
        Path | None,
        typer.Option(help="A buyer's table to bring in: CSV, XLSX, or - for one pasted.", metavar="TABLE"),
    ] = None,
    unit: Annotated[str | None, typer.Option(help="Its unit when it names none: cm, mm or in.")] = None,
    write: Annotated[
        Path | None,
        typer.Option(help="Where to put the style with the table taken in; comments are not kept.", metavar="NEW.toml"),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="Where to put the size table, as CSV or as a workbook.", metavar="FILE.csv|.xlsx"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Size table of a style: print it, write it as CSV or XLSX, or bring a buyer's table in.

    With --bring nothing is changed: every cell that would differ is shown with its measure now and then, what stays
    graded, and what could not be read with its row, column and reason. --write puts the changed style into a file of
    its own. Nothing is written, and the exit code is 2, when no measure can be read or the new ones contradict each
    other; a single cell that cannot be read is left out and told.
    """
    from loopwright.problems import Problem
    from loopwright.report.size_answer import print_sizes, require_fitting_files, write_sizes
    from loopwright.report.size_document import brought_document, size_table_document
    from loopwright.report.size_files import size_table_of_file
    from loopwright.study.brought_table import brought_table, document_table

    file: FileRead | None = None
    brought: Brought | None = None
    try:
        document = _document_from(style)
        table = document_table(document)
        require_fitting_files(bring=bring, write=write, out=out)
        if bring is not None:
            data = sys.stdin.buffer.read() if str(bring) == "-" else _bytes_of(bring)
            file = size_table_of_file(data, str(bring), table.names, sizes=table.sizes, unit=unit)
            brought = brought_table(file.table, document)
        is_stopped = brought is not None and (not brought.read.measures_cm or bool(brought.contradictions))
        written = () if is_stopped else write_sizes(document, brought, write=write, out=out)
    except Problem as problem:
        _refuse(problem, as_json=as_json)
    if as_json:
        told = {"brought": brought_document(brought, file)} if brought else {}
        _print_json({**size_table_document(table), **told, "written": [str(path) for path in written]})
    else:
        print_sizes(document, brought, file, written, _console())
    if is_stopped:
        raise typer.Exit(2)


@app.command()
def ways(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    as_json: AsJson = False,
) -> None:
    """The same style made in other ways: cup-seamed, cut and sewn, in one piece; with yarn, waste, minutes, price.

    Ranked by price at the order's quantity, each beside the style's own way, with the quantity at which they cost the
    same. A way that the style cannot be made in stands below with the reason.
    """
    from loopwright.problems import Problem
    from loopwright.report.ways import ways_document, ways_section
    from loopwright.study.study import study_style
    from loopwright.study.ways import ways_of_making

    try:
        answer = study_style(_style_from(style))
    except Problem as problem:
        _refuse(problem, as_json=as_json)
    found = ways_of_making(answer)
    if as_json:
        _print_json(ways_document(answer, found))
        _leave_if_refused(answer)
        return
    from loopwright.report.terminal import print_section

    section = ways_section(answer, found)
    if section is None:
        print("No size could be worked through, so there is nothing to compare; `loopwright study` says what stops it.")
    else:
        print_section(section, _console())
    _leave_if_refused(answer)


@app.command()
def machines(
    gauge: Annotated[float | None, typer.Option(help="Only machines of this gauge, needles per inch.")] = None,
    as_json: AsJson = False,
) -> None:
    """The generic machines (invented, none is a real model): V-beds, circular machines, hosiery cylinders.

    A style takes a V-bed by `model = "compact 12"` in its [machine]; that gives gauge, bed and systems it leaves out.
    """
    from loopwright.problems import Problem
    from loopwright.report.machines import machines_document, machines_tables
    from loopwright.report.terminal import print_blocks

    try:
        blocks, document = machines_tables(gauge), machines_document(gauge)
    except Problem as problem:
        _refuse(problem, as_json=as_json)
    if as_json:
        _print_json(document)
        return
    print_blocks("Generic machines, invented: a mill's own list takes their place", blocks, (), _console())


@app.command()
def stripes(
    words: Annotated[str, typer.Argument(help='Stripes of one repeat, lowest first: "navy 2, grey 2".')],
    systems: Annotated[int, typer.Option(help="Knitting systems.")] = 2,
    repeats: Annotated[int, typer.Option(help="How often the repeat is knitted.", min=1)] = 25,
    areas: Annotated[int | None, typer.Option(help="Colour areas in a course of intarsia.")] = None,
    model: Annotated[str | None, typer.Option(help="A generic machine: its systems, its carriers.")] = None,
    as_json: AsJson = False,
) -> None:
    """Where yarn carriers should start, and in which order stripes cost the fewest carriage traverses."""
    from loopwright.problems import Problem
    from loopwright.report.stripes import stripes_answer

    try:
        answer = stripes_answer(words, systems=systems, repeats=repeats, areas=areas, model=model)
    except Problem as problem:
        _refuse(problem, as_json=as_json)
    if as_json:
        _print_json(answer.as_dict())
        return
    for line in answer.lines:
        print(line)


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
        _refuse(problem, as_json=as_json)
    count_tex = figures["count_tex"].value
    gauges = suitable_gauges(count_tex)
    exact = gauge_for_count(count_tex)
    circular = {rule: gauge_for_count(count_tex, rule) for rule in ("circular_single", "circular_double")}
    if as_json:
        _print_json(
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
    print_figures(name, figures, _console(), tuple(notes))


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
        _refuse(problem, as_json=as_json)
    simulation = simulation_of(made)
    found = (*made.findings, *simulation.findings)
    if as_json:
        findings = [finding.as_dict() for finding in found]
        _print_json({**fabric_document(made, simulation), "findings": findings})
        return
    words = (
        f"{made.curl.words[0].upper()}{made.curl.words[1:]}. Unroves {made.run.unroves}; ladders {made.run.ladders}."
    )
    table = simulation.cloth and simulated_table(made.structure.name, simulation, simulation.cloth)
    told = Lines(tuple(f"{finding.sign.word}: {finding.sentence}" for finding in found))
    notation = Lines((*made.structure.notation.lines(), "", words))
    console = _console()
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
        _refuse(problem, as_json=as_json)
    if as_json:
        _print_json({each.key: {"name": each.name, "notation": list(each.notation.lines()),
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


@app.command(name="open")
def open_(
    port: Annotated[int, typer.Option(help="Where the page listens on this machine.")] = 8027,
    no_browser: Annotated[bool, typer.Option(help="Do not open the page in a browser.")] = False,
    team: Annotated[bool, typer.Option(help="Let others sign in over the network; needs --host and people.")] = False,
    host: Annotated[str, typer.Option(help="In team mode: the name under which others reach this machine.")] = "",
    as_json: AsJson = False,
) -> None:
    """Open the workroom: the page on which styles, yarns and machines are worked with."""
    from loopwright.problems import Problem
    from loopwright.web.app import serve

    try:
        serve(port=port, show=not no_browser, team=team, host=host)
    except Problem as problem:
        _refuse(problem, as_json=as_json)


@app.command()
def person(
    name: Annotated[str, typer.Argument(help="The name that a person of the team signs in with.")],
    role: Annotated[str, typer.Option(help="edit: may change everything; view: may only look.")] = "edit",
    remove: Annotated[bool, typer.Option(help="Take this person away; open sessions end at once.")] = False,
    as_json: AsJson = False,
) -> None:
    """Let a person sign in to a shared workroom, change what they may do, or take them away."""
    from loopwright.problems import Problem
    from loopwright.store.shelf import open_shelf
    from loopwright.web.sign_in import hash_of

    try:
        shelf = open_shelf()
        if remove:
            shelf.remove_person(name)
        elif shelf.person(name) is not None:
            shelf.set_role(name, role)
        else:
            shelf.add_person(name, hash_of(_new_password()), role)
    except Problem as problem:
        _refuse(problem, as_json=as_json)
    told = {"person": name, "role": None if remove else role}
    if as_json:
        _print_json(told)
    else:
        print(f"{name} may no longer sign in." if remove else f"{name} may sign in: {role}.")


def _new_password() -> str:
    """A password typed twice; scripts give it in LOOPWRIGHT_PASSWORD."""
    given = os.environ.get("LOOPWRIGHT_PASSWORD")
    if given is not None:
        return given
    return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))


def _leave_if_refused(answer: StyleStudy) -> None:
    """Say on the error stream what has to be mended, and leave with exit code 2."""
    if not answer.refused:
        return
    from rich.console import Console

    from loopwright.report.terminal import print_problem

    for problem in answer.refused:
        print_problem(problem, Console(stderr=True, highlight=False, soft_wrap=True))
    raise typer.Exit(2)


def _style_from(path: Path) -> Style:
    """The style of a TOML file.

    Raises:
        Problem: no such file, not TOML, not text, or something in it that no style has.
    """
    from loopwright.study.style import read_style

    return read_style(_document_from(path))


def _document_from(path: Path) -> dict[str, Any]:
    """The document in a TOML file.

    Raises:
        Problem: no such file, not TOML, or not text.
    """
    from loopwright.problems import Problem
    from loopwright.study.toml_text import document_of

    if path.is_dir():
        raise Problem(str(path), "this is a folder, not a style file.", tries=["name the TOML file in it"])
    return document_of(_bytes_of(path), str(path))


def _bytes_of(path: Path) -> bytes:
    """What a file holds.

    Raises:
        Problem: no such file, or one that cannot be read.
    """
    from loopwright.problems import Problem

    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise Problem(str(path), "there is no such file.", tries=["check the name and the folder"]) from None
    except OSError as error:
        raise Problem(str(path), f"the file cannot be read ({error.strerror}).") from None


def _print_json(document: dict[str, Any]) -> None:
    import orjson

    print(orjson.dumps(document, option=orjson.OPT_INDENT_2).decode("utf-8"))


def _console() -> Any:
    from rich.console import Console

    return Console(highlight=False, width=None if sys.stdout.isatty() else PAPER_WIDTH)


def _refuse(problem: Problem, *, as_json: bool) -> NoReturn:
    """Say what is wrong and leave with exit code 2."""
    if as_json:
        _print_json({"problem": problem.as_dict()})
    else:
        from rich.console import Console

        from loopwright.report.terminal import print_problem

        print_problem(problem, Console(stderr=True, highlight=False, soft_wrap=True))
    raise typer.Exit(2)
