"""The workroom with one more page, /yarns: two linked yarn views, and the addresses that they ask."""

import sys

from fastapi import Response
from nicegui import app, ui

from loopwright.draw.centre_lines import State, centre_lines
from loopwright.draw.lie import Lie
from loopwright.draw.still import Shown
from loopwright.draw.still_svg import still_svg
from loopwright.fabric.fabric import fabric_of
from loopwright.fabric.loop_path import loop_paths
from loopwright.mechanics.form import ClothForm, Strand
from loopwright.structure.library import library
from loopwright.web.app import serve
from loopwright.web.elements import Part, Wires
from loopwright.web.frame import frame
from loopwright.web.yarn_view import YarnView
from loopwright.yarn.yarn import yarn_from_words

LIES = {"plain": Lie(side_curvature=0.15, end_curvature=-0.12, lean_deg=4.0), "rib-1x1": Lie()}
STRAINS = (0.25, 0.5)


def placed(key: str, strain_width: float = 0.0, strain_length: float = 0.0) -> tuple[ClothForm, float]:
    """The placed, not relaxed, form of a structure, pulled evenly; and the diameter of its yarn in mm."""
    fabric = fabric_of(library()[key], yarn_from_words("2/28 Nm merino"))
    paths = loop_paths(fabric.geometry, fabric.yarn.diameter_mm.value)
    d, pulled = paths.diameter_mm, [1 + strain_width, 1 + strain_length, 1.0]
    strands = tuple(Strand(path.yarn, path.feed, path.points[:-1] / d * pulled) for path in paths.paths)
    anatomy = fabric.structure.anatomy
    form = ClothForm(
        strands,
        width=paths.width_mm / d * pulled[0],
        height=paths.height_mm / d * pulled[1],
        shear=0.0,
        wales=anatomy.visible_wales,
        courses=anatomy.visible_courses,
    )
    return form, d


def states(key: str) -> list[State]:
    across = [
        State(f"across {strain:g}", placed(key, strain_width=strain)[0], strain_width=strain) for strain in STRAINS
    ]
    along = [
        State(f"along {strain:g}", placed(key, strain_length=strain)[0], strain_length=strain) for strain in STRAINS
    ]
    return [State("relaxed", placed(key)[0]), *across, *along]


@app.get("/yarns/{key}.bin")
def lines(key: str) -> Response:
    form, diameter_mm = placed(key)
    across, along = round(12 / form.wales), round(14 / form.courses)
    data = centre_lines(states(key), diameter_mm=diameter_mm, across=across, along=along, lie=LIES[key])
    return Response(data, media_type="application/octet-stream")


@app.get("/yarns/{key}.svg")
def still(key: str) -> Response:
    form, diameter_mm = placed(key)
    text = still_svg(form, "face", Shown(library()[key].name, "placed, not relaxed", diameter_mm), key="still")
    return Response(text, media_type="image/svg+xml")


@ui.page("/yarns")
def page() -> None:
    with frame("Yarns", here="structure", help_page="structures"):
        Part("title", "<h1 class='lede'>Yarns</h1>")
        with ui.element("div").classes("yarns-side-by-side"):
            for key in LIES:
                YarnView(
                    f"/yarns/{key}.bin",
                    still=f"/yarns/{key}.svg",
                    label=f"Cloth of {library()[key].name} at yarn level.",
                    caption=f"{library()[key].name}: 12 wales by 14 courses; placed, not relaxed",
                    link="both",
                )
        Wires({})


if __name__ in {"__main__", "__mp_main__"}:
    serve(port=int(sys.argv[sys.argv.index("--port") + 1]), show=False)
