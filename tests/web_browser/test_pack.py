"""A style handed over on its page: the pack comes as a file, and what stops one is said where the person stands."""

import io
import zipfile

import pypdf
from playwright.sync_api import expect


def test_the_pack_comes_as_pages_and_a_refusal_as_words(opened, style, workroom):
    window = opened(f"/items/{style}")
    with window.page.expect_download() as made:
        window.page.get_by_role("button", name="factory pack (PDF)").click()
    assert made.value.suggested_filename.endswith(".pdf")
    first = pypdf.PdfReader(made.value.path()).pages[0].extract_text()
    assert "Specification" in first
    with window.page.expect_download() as whole:
        window.page.get_by_role("button", name="cost sheet, confidential").click()
    with open(whole.value.path(), "rb") as file:
        names = zipfile.ZipFile(io.BytesIO(file.read())).namelist()
    assert names == ["cost-confidential.pdf", "cost-confidential.xlsx"]
    window.picture("hand-over")

    edit = {"base_version": workroom.version(style), "edits": [{"path": ["style", "name"], "typed": "𒀀 𒁀"}]}
    workroom.post(f"/api/items/{style}/changes", edit)
    window.page.get_by_role("button", name="factory pack (PDF)").click()
    expect(window.page.locator(".strip")).to_contain_text("no form for 𒀀 𒁀")


def section(window):
    """The section of handing over, near enough to have asked for what was issued."""
    place = window.page.locator("section[aria-labelledby=h-pack]")
    place.scroll_into_view_if_needed()
    window.page.wait_for_selector(".handed[data-ready]", state="attached")
    return place


def test_a_style_is_issued_changed_issued_again_and_asked_about(opened, style):
    window = opened(f"/items/{style}")
    page, place = window.page, section(window)
    expect(place).to_contain_text("Nothing was issued yet.")

    place.get_by_text("Issue it").click()
    place.get_by_label("For, names with a semicolon between").fill("Mill by the river, technician; <b>Second</b> mill")
    place.get_by_label("Note").fill("Knit one of each first.")
    window.picture("hand-over-form")
    place.get_by_role("button", name="Issue", exact=True).click()
    rows = place.locator("table.issues tbody tr")
    expect(rows).to_have_count(1)
    expect(rows.first).to_contain_text("<b>Second</b> mill")
    expect(place.locator(".moved")).to_contain_text("Nothing has changed since.")

    place.get_by_text("Issue it").click()
    expect(place.get_by_label("For, names with a semicolon between")).to_have_value(
        "Mill by the river, technician; <b>Second</b> mill"
    )
    place.get_by_role("button", name="Issue", exact=True).click()
    expect(place.get_by_role("alert").first).to_contain_text("Nothing differs from issue 1")
    place.get_by_role("button", name="Leave it").click()
    expect(rows).to_have_count(1)

    window.type("zones.hem.loop_length_mm", "5.7")
    expect(place.locator(".moved")).to_contain_text("The study has moved on:")
    place.get_by_role("button", name="Issue", exact=True).click()
    expect(rows).to_have_count(2)
    place.get_by_label("What differs from").select_option("1")
    place.locator(".differing select[name=second]").select_option("2")
    place.get_by_role("button", name="Compare").click()
    found = place.locator(".differences")
    expect(found).to_contain_text("From issue 1 to issue 2")
    row = found.get_by_role("row").filter(has_text="Gauge: Loop length").first
    assert [cell.replace("\u00a0", " ") for cell in row.get_by_role("cell").all_inner_texts()] == ["5.6 mm", "5.7 mm"]
    window.picture("hand-over-differences")

    with page.expect_download() as made:
        rows.filter(has=page.get_by_role("rowheader", name="1", exact=True)).get_by_role("button", name="PDF").click()
    words = " ".join(each.extract_text() for each in pypdf.PdfReader(made.value.path()).pages)
    assert "5.70 mm" not in words  # the first issue is as it was
    with page.expect_download() as made:
        rows.first.get_by_role("button", name="PDF").click()
    words = " ".join(pypdf.PdfReader(made.value.path()).pages[0].extract_text().split())
    assert "What changed since issue 1" in words

    place.get_by_text("Ask a question").click()
    place.get_by_label("Place on it").fill("Sleeve, knit-down")
    place.get_by_label("Question").fill("Bind off or hold?")
    place.get_by_label("Who asks").fill("Technician")
    place.get_by_role("button", name="Ask", exact=True).click()
    expect(place.locator(".of-questions")).to_contain_text("1 open")
    asked = place.locator("ol.asked li")
    expect(asked).to_contain_text("Issue 2, Sleeve, knit-down")
    asked.get_by_label("Answer to: Bind off or hold?").fill("Hold, and link.")
    asked.get_by_role("button", name="Answer").click()
    expect(place.locator(".of-questions")).to_contain_text("none is open")
    expect(asked).to_contain_text("Hold, and link.")
    window.picture("hand-over-answered")
    assert window.breaks_rules() == []
    assert not window.scrolls_sideways()


def test_the_pages_are_turned_one_by_one_and_follow_the_style(opened, style):
    window = opened(f"/items/{style}")
    place = section(window)
    place.get_by_text("Look at the pages").click()
    picture, said = place.locator(".leafing img"), place.locator(".leafing [role=status]")
    expect(said).to_contain_text("page 1 of")
    count = int(said.inner_text().split()[-1])
    assert count > 5
    back, forward = place.get_by_role("button", name="Back"), place.get_by_role("button", name="Forward")
    expect(back).to_be_disabled()
    first = picture.get_attribute("src")
    forward.click()
    expect(said).to_have_text(f"page 2 of {count}")
    assert picture.get_attribute("src") != first
    assert picture.evaluate("each => each.decode().then(() => each.naturalHeight / each.naturalWidth)") > 1.4  # A4: √2
    place.locator("select[name=paper]").select_option("Letter")
    expect(said).to_contain_text("page 1 of")
    wide = "each => each.decode().then(() => each.naturalHeight / each.naturalWidth)"
    assert 1.28 < picture.evaluate(wide) < 1.31  # 11 by 8.5 inches
    window.picture("hand-over-pages")
    forward.click()
    expect(said).to_contain_text("page 2 of")
    before = picture.get_attribute("src")
    window.type("zones.hem.loop_length_mm", "5.7")
    expect(picture).not_to_have_attribute("src", before)
    expect(said).to_contain_text("page 2 of")
    place.locator("select[name=paper]").select_option("A4")  # remembered for whatever comes next


def test_pages_and_files_come_in_the_language_that_was_chosen(opened, style):
    window = opened(f"/items/{style}")
    place = section(window)
    place.get_by_label("Language").select_option("de")
    with window.page.expect_download() as made:
        place.get_by_role("button", name="factory pack (PDF)").click()
    assert "Spezifikation" in pypdf.PdfReader(made.value.path()).pages[0].extract_text()
    place.get_by_text("Look at the pages").click()
    expect(place.locator(".leafing [role=status]")).to_contain_text("page 1 of")
    window.picture("hand-over-german")
    window.page.reload()
    window.ready()
    expect(section(window).get_by_label("Language")).to_have_value("de")
    section(window).get_by_label("Language").select_option("en")  # remembered for whatever comes next


def test_two_windows_never_issue_under_one_number(opened, style, workroom):
    window = opened(f"/items/{style}")
    place = section(window)
    place.get_by_text("Issue it").click()
    place.get_by_label("Note").fill("mine")
    workroom.post(f"/api/items/{style}/issues", {"after": 0, "note": "theirs", "formats": ["csv"]})
    place.get_by_role("button", name="Issue", exact=True).click()
    expect(place.get_by_role("alert").first).to_contain_text("issue 1 was made in another window meanwhile")
    expect(place.locator("table.issues tbody tr")).to_have_count(1)
    expect(place.get_by_label("Note")).to_have_value("mine")
    window.page.reload()
    window.ready()
    place = section(window)
    expect(place.get_by_label("Note")).to_have_value("mine")
    place.get_by_role("button", name="Issue", exact=True).click()
    place.get_by_role("button", name="Issue it all the same").click()
    expect(place.locator("table.issues tbody tr")).to_have_count(2)


def test_what_stops_a_pack_is_said_beside_its_issues(opened, style, workroom):
    workroom.post(f"/api/items/{style}/issues", {"after": 0, "formats": ["csv"]})
    workroom.edit(style, "style.name", "𒀀 𒁀")
    window = opened(f"/items/{style}")
    place = section(window)
    place.get_by_text("Look at the pages").click()
    expect(place.locator(".leafing [role=status]")).to_contain_text("no form for")
    place.get_by_text("Issue it").click()
    place.get_by_role("button", name="Issue", exact=True).click()
    expect(place.get_by_role("alert").first).to_contain_text("no form for")


def test_handing_over_fits_a_phone(opened, style, workroom):
    workroom.post(f"/api/items/{style}/issues", {"after": 0, "recipients": ["Mill by the river, technician"]})
    question = {"text": "Bind off or hold?", "place": "Sleeve, knit-down", "by": "Technician"}
    workroom.post(f"/api/items/{style}/issues/1/questions", question)
    window = opened(f"/items/{style}", width=390, height=844)
    place = section(window)
    expect(place.locator("ol.asked")).to_contain_text("Bind off or hold?")
    place.get_by_text("Issue it").click()
    window.picture("hand-over-phone", whole=False)
    assert not window.scrolls_sideways()
