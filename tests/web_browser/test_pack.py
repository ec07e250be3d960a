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
