"""Pictures of a simulated cloth into files: the face as SVG and PNG, the cloth as GLB.

All are drawn before the first is written, and every file is written whole.
"""

from __future__ import annotations

from pathlib import Path

from loopwright.draw.glb import cloth_glb
from loopwright.draw.still import Shown, still_png
from loopwright.draw.still_svg import still_svg
from loopwright.problems import Problem
from loopwright.report.files import write_whole
from loopwright.study.loop_words import LoopAnswer, Setting

STATE = "Simulated: relaxed, without friction, not calibrated"
STATE_CALIBRATED = "Simulated: relaxed, without friction, calibrated on swatches"


def scale_mm(setting: Setting) -> float:
    """The yarn diameter in mm that gives a picture its scale; asked for before anything is solved.

    Raises:
        Problem: the scale isn't known.
    """
    if setting.diameter_mm is None:
        raise Problem(
            "picture", "its scale is not known.", tries=['name the yarn, --yarn "2/48 Nm merino"', "--loop in mm"]
        )
    return setting.diameter_mm


def write_pictures(
    answer: LoopAnswer, *, glb: Path | None = None, svg: Path | None = None, png: Path | None = None
) -> tuple[Path, ...]:
    """Write the pictures that are asked for.

    Raises:
        Problem: the scale isn't known, for want of a yarn or a loop length, or a file cannot be written.
    """
    wanted = [path for path in (glb, svg, png) if path is not None]
    if not wanted:
        return ()
    setting, form = answer.setting, answer.page.form()
    d = scale_mm(setting)
    state = STATE_CALIBRATED if setting.calibration else STATE
    shown = Shown(f"{setting.structure.name[:1].upper()}{setting.structure.name[1:]}", state, d)
    drawn = {
        glb: lambda: cloth_glb(form, diameter_mm=d, words=state),
        svg: lambda: still_svg(form, "face", shown).encode("utf-8"),
        png: lambda: still_png(form, "face", shown),
    }
    files = {path: drawn[path]() for path in wanted}
    for path, data in files.items():
        write_whole(path, data)
    return tuple(files)
