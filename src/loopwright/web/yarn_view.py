"""The cloth at yarn level on a page: an element that fetches centre lines and lets a person turn and stretch them.

The library that draws in 3D comes with the page's framework and is loaded by the browser when the first view needs it.
Not covered: making the centre lines (`draw.centre_lines`) and the picture for browsers without 3D (`draw.still_svg`).
"""

from __future__ import annotations

import nicegui.elements.scene  # noqa: F401  names its 3D library for the pages
from nicegui import ui


class YarnView(ui.element, component="components/yarns.js", esm={"loopwright-workroom": "workroom"}):
    """A view of the yarns of one cloth.

    Args:
        url: address of the bytes of `draw.centre_lines`; a new address shows a new cloth under the same camera.
        still: address of an SVG that is shown where the browser has no 3D.
        label: what is seen, in a sentence, for those who do not see it.
        caption: the line under the picture: how much cloth, in what state.
        link: views of one name share camera and scale.
    """

    def __init__(self, url: str, *, still: str, label: str, caption: str = "", link: str = "") -> None:
        super().__init__()
        self._props.update(url=url, still=still, label=label, caption=caption, link=link)

    def show(self, url: str) -> None:
        """Show another cloth; the camera stays."""
        self._props["url"] = url
        self.update()
