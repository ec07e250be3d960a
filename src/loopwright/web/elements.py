"""The two elements that every page of the workroom is made of: parts that show HTML, and the wires of behaviour."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from nicegui import ui
from nicegui.elements.mixins.content_element import ContentElement


class Part(ContentElement, component="components/part.js", esm={"loopwright-workroom": "workroom"}):
    """A named piece of a page. New HTML is taken over in place; what a person is typing stays."""

    CONTENT_PROP = "html"

    def __init__(self, name: str, html: str = "") -> None:
        super().__init__(content=html)
        self._props["name"] = name
        self.mark(f"part-{name}")

    def show(self, html: str) -> None:
        """Show new HTML; nothing travels when it is the same."""
        if html != self.content:
            self.set_content(html)


class Wires(ui.element, component="components/wires.js"):
    """What the page listens to. `page` tells it the item, its version and what can be undone."""

    def __init__(self, page: Mapping[str, Any], on_size: Callable[[str], Any] | None = None) -> None:
        super().__init__()
        self._props["page"] = dict(page)
        if on_size is not None:
            self.on("size", lambda event: on_size(str(event.args.get("size", ""))[:40]))

    def state(self, state: Mapping[str, Any]) -> None:
        """Tell the page which version it now shows."""
        self.run_method("state", dict(state))

    def busy(self) -> None:
        """Tell the page that its figures are old."""
        self.run_method("busy")
