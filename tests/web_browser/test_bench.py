"""The swatch bench under one hand: readings by keys, pictures through the file input, the next swatch, what came back.

The drawn picture is a lattice of 13.158 by 10.000 pixels; at 300 dots per inch 10 cm hold 1181.1 pixels, so 89.76 wales
and 118.11 courses. Every journey loads its page once and waits long, for the machine may be slow.
"""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

PICTURES = Path(__file__).parents[1] / "swatch/photo/pictures"
DRAWN, COARSE = PICTURES / "drawn-jersey-face.png", PICTURES / "synthetic-lowres-refuse.jpg"
PX_IN_10_CM = 300 / 2.54 * 10
WALES, COURSES = PX_IN_10_CM / 13.158, PX_IN_10_CM / 10.0
SWATCH = {
    "yarns": {"main": {"count": "2/28 Nm", "fibres": "merino"}},
    "swatches": {
        "s1": {
            "name": "Bench swatch",
            "structure": "plain",
            "yarn": "main",
            "gauge": 12,
            "needles": 200,
            "courses": 200,
            "invented": True,
            "limits": {"wales_per_cm": {"wanted": 6.5, "percent": 3}, "lean_percent": 5},
            "sittings": {
                "dry": {"state": "dry-relaxed", "wales": [65, 64.5], "courses": [84, 85, 84.5], "count_over_cm": 10},
                "washed-3": {"state": "fully-relaxed", "washes": 3, "wales": [66], "mark_offset_mm": [[9, 120]]},
            },
        }
    },
}
SERIOUS = ("serious", "critical")


@pytest.fixture
def bench(opened, workroom):
    """Opens a window on a swatch of the test's own."""

    def at(width: int = 1440, height: int = 900):
        item = workroom.post("/api/items", {"kind": "swatch", "document": SWATCH})["id"]
        return opened(f"/items/{item}", width=width, height=height)

    return at


def place(window, name: str):
    return window.page.locator(f'.places [data-place="{name}"]')


def readings(window, name: str) -> list[str]:
    return place(window, name).locator(".reading").all_inner_texts()


def figures(words: str) -> list[float]:
    return [float(each) for each in re.findall(r"\d+(?:\.\d+)?", words)]


def serious(window) -> list[str]:
    return [each for each in window.breaks_rules() if each.startswith(SERIOUS)]


def cut_off(window) -> list[str]:
    """What of the page's words and fields reaches beyond the right edge of the window and cannot be scrolled to."""
    return window.page.evaluate(
        """() => [...document.querySelectorAll('.study *')].filter(each => {
            const box = each.getBoundingClientRect();
            if (!box.width || box.right <= document.documentElement.clientWidth + 1) return false;
            if (!each.checkVisibility({ visibilityProperty: true }) || each.closest('.unseen, svg')) return false;
            for (let over = each.parentElement; over; over = over.parentElement)
              if (['auto', 'scroll'].includes(getComputedStyle(over).overflowX)) return false;
            return true;
          }).map(each => each.outerHTML.slice(0, 120))"""
    )


def test_readings_are_typed_by_keys_alone_and_the_running_result_stands_beside_them(bench, workroom):
    window = bench()
    page = window.page
    page.locator(".pick [data-size=dry]").last.click()
    expect(place(window, "wales").locator(".reading")).to_have_count(2)
    place(window, "wales").locator(".ask").focus()
    page.keyboard.press("Enter")
    field = page.locator("#reading")
    expect(field).to_be_focused()
    for number, typed in enumerate(("65 1/2", "64,5", "66"), start=3):
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
        expect(place(window, "wales").locator(".reading")).to_have_count(number)
    assert readings(window, "wales") == ["65", "64.5", "65.5", "64.5", "66"]
    mean = figures(place(window, "wales").locator(".result").inner_text())[0]
    assert mean == pytest.approx((65 + 64.5 + 65.5 + 64.5 + 66) / 5, abs=0.05)
    expect(page.locator("#reading-said")).to_contain_text("±")
    assert workroom.held(window.item, "swatches.s1.sittings.dry.wales") == [65, 64.5, 65.5, 64.5, 66]

    page.keyboard.type("about 65")
    page.keyboard.press("Enter")
    expect(page.locator("#reading-not")).to_contain_text("“about 65”")
    expect(field).to_have_value("about 65")
    expect(field).to_be_focused()
    expect(field).to_have_attribute("aria-invalid", "true")
    assert len(readings(window, "wales")) == 5
    page.keyboard.press("Control+a")
    page.keyboard.press("Delete")
    page.keyboard.press("ArrowLeft")
    expect(field).to_have_value("66")
    page.keyboard.type("65")
    page.keyboard.press("Enter")
    expect(place(window, "wales").locator(".reading").last).to_have_text("65")
    for _ in range(4):
        page.keyboard.press("ArrowDown")
    expect(page.locator(".question label")).to_contain_text("Weight")
    page.keyboard.type("14,82")
    page.keyboard.press("Enter")
    expect(place(window, "mass_g").locator(".reading")).to_have_text("14.82")
    window.shows(workroom.version(window.item))
    expect(window.part("readings")).to_contain_text("Wales per cm")
    assert serious(window) == []
    assert not window.scrolls_sideways()
    assert cut_off(window) == []
    window.picture("bench-readings", whole=True)


def test_a_picture_is_read_corrected_and_kept_and_one_too_coarse_says_why(bench, workroom):
    window = bench()
    page = window.page
    expect(page.locator(".photo-form")).to_be_visible()
    page.locator("[name=reference]").select_option("dpi")
    page.locator("[name=size]").fill("300")
    page.locator("#photo-file").set_input_files(DRAWN)
    expect(page.locator("[data-photo=yes]")).to_be_visible()
    said = page.locator(".photo-said").inner_text()
    wales, _, courses = figures(said)[:3]
    assert wales == pytest.approx(WALES, rel=0.005)
    assert courses == pytest.approx(COURSES, rel=0.005)
    lattice = page.locator(".lattice")
    assert lattice.locator("line").count() > 10
    assert lattice.locator("[data-corner]").count() == 4
    sitting = "swatches.s1.sittings.washed-3.photos"
    (photo,) = workroom.held(window.item, sitting)
    assert workroom.held(window.item, f"{sitting}.{photo}").get("confirmed") is not True
    window.picture("bench-photo", whole=True)

    handle = lattice.locator('[data-corner="2"]')
    handle.scroll_into_view_if_needed()
    corner = handle.bounding_box()
    from_x, from_y = corner["x"] + corner["width"] / 2, corner["y"] + corner["height"] / 2
    page.mouse.move(from_x, from_y)
    page.mouse.down()
    page.mouse.move(from_x + 4, from_y - 3, steps=3)
    page.mouse.up()
    page.wait_for_function(
        "key => (sessionStorage.getItem(key) ?? '').includes('corners')", arg=told_key(window, photo)
    )
    expect(lattice.locator("line").first).to_be_attached()  # the stitches are away while the picture is read again
    expect(page.locator("[data-photo=yes]")).to_be_visible()
    wales, _, courses = figures(page.locator(".photo-said").inner_text())[:3]
    assert wales == pytest.approx(WALES, rel=0.005)  # a corner that was not quite on the stitch is drawn to it again
    assert courses == pytest.approx(COURSES, rel=0.005)
    window.changing(page.locator("[data-photo=yes]").click)
    record = workroom.held(window.item, f"{sitting}.{photo}")
    assert record["confirmed"] is True
    assert record["wales_per_10_cm"] == pytest.approx(WALES, rel=0.005)
    assert record["reference"] == "dpi:300"
    expect(page.locator(".photo-said")).to_contain_text("In the record")
    expect(window.part("readings")).to_contain_text("photo")

    page.locator("[name=reference]").select_option("none")
    page.locator("#photo-file").set_input_files(COARSE)
    expect(page.locator(".photo-under .said")).to_contain_text("Not read.")
    assert "pixel" in page.locator(".photo-under .said").inner_text()
    assert page.locator(".photo-said").count() == 0
    assert page.locator("[data-photo=yes]").count() == 0
    assert serious(window) == []
    assert cut_off(window) == []
    window.picture("bench-photo-refused", whole=True)


def told_key(window, photo: str) -> str:
    return f"loopwright-told-{window.item}-{photo}"


def test_the_next_swatch_is_ranked_for_a_style_with_the_reason_of_each(bench):
    window = bench()
    form = window.page.locator(".next-form")
    expect(form.locator("[name=style] option").first).to_be_attached()
    form.locator("[name=style]").select_option(label="N7-014 · Attendant's crew-neck pullover")
    form.locator("[name=wanted]").select_option("price")
    form.locator("button").press("Enter")
    expect(window.page.locator("ol.next li").first).to_contain_text("takes the spread of the price", ignore_case=True)
    gains = [figures(each)[-1] for each in window.page.locator("ol.next .less").all_inner_texts()]
    assert gains == sorted(gains, reverse=True)
    assert len(gains) > 2
    expect(window.part("next")).to_contain_text("swatches of the drawer counted")
    assert serious(window) == []
    window.picture("bench-next", whole=True)


@pytest.mark.slow  # a page that waits longer than its connection lives loads itself again and forgets the table
def test_garments_that_came_back_are_measured_against_their_style_and_kept(opened, style, workroom):
    window = opened(f"/items/{style}")
    page = window.page
    version = workroom.version(style)
    page.locator(".pieces summary").click()
    page.locator(".pieces [name=lot]").fill("640")
    table = "Piece;Size;Half chest;Mass, g;Major\n1;M;49,5;214;\n2;M;52,9;216;hole\n3;M;tbc;215;\n"
    files = {"name": "came back.csv", "mimeType": "text/csv", "buffer": table.encode()}
    page.locator(".pieces input[type=file]").set_input_files(files)
    expect(page.locator(".pieces .brought h3")).to_be_focused()
    brought = page.locator(".pieces .brought")
    expect(brought).to_contain_text("49.5; 52.9")
    expect(brought).to_contain_text("Row 4, column C")
    assert workroom.version(style) == version
    assert serious(window) == []
    window.changing(page.locator("[data-keep-pieces]").click)
    (kept,) = workroom.held(style, "samples").values()
    assert [piece["size"] for piece in kept["pieces"]] == ["M", "M", "M"]
    assert kept["lot_pieces"] == 640
    expect(window.part("returned")).to_contain_text("3 pieces of 640")
    window.picture("style-came-back", whole=True)


def test_on_a_telephone_the_bench_is_whole_and_takes_readings_and_pictures(bench, workroom):
    window = bench(width=390, height=844)
    page = window.page
    place(window, "courses").locator(".ask").click()
    page.locator("#reading").fill("85 1/2")
    page.locator("#reading").press("Enter")
    expect(place(window, "courses").locator(".reading")).to_have_text("85.5")
    page.locator("#photo-camera").set_input_files(DRAWN)
    expect(page.locator(".photo-under .said, .photo-said").first).to_be_visible()
    window.shows(workroom.version(window.item))
    assert not window.scrolls_sideways()
    assert cut_off(window) == []
    assert serious(window) == []
    overlap = page.evaluate(
        """() => { const boxes = [...document.querySelectorAll('.contents a')].filter(each => each.checkVisibility())
            .map(each => { const words = document.createRange(); words.selectNodeContents(each);
                           return words.getBoundingClientRect(); });
          return boxes.slice(1).some((box, at) => box.left < boxes[at].right - 0.5); }"""
    )
    assert not overlap
    window.picture("bench-phone", whole=True)
