"""The workroom as a simulated person meets it: the same `build`, a shelf of the test's own, no browser."""

import os

from nicegui import app, ui

from loopwright.store.shelf import open_shelf
from loopwright.web.app import build

for mounted in [route for route in app.routes if getattr(route, "path", "") == "/api"]:
    app.routes.remove(mounted)  # left by the simulation before
house = build(open_shelf(os.environ["LOOPWRIGHT_SIMULATED_SHELF"]), hosts=("test",))
app.state.house = house
ui.run(reload=False, show=False, tailwind=False, language="en-US", storage_secret="simulated")
