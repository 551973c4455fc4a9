"""What a person does on the pages, in a few words."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import openpyxl
from playwright.sync_api import Locator, Page, expect


def leave_by(control: Locator) -> None:
    """Click what leads to another page, and wait until all of that has come."""
    with control.page.expect_navigation():
        control.click()


def go(page: Page, *links: str) -> None:
    """Follow links of the way around: a section, then one of its pages."""
    leave_by(page.get_by_role("banner").get_by_role("link", name=links[0], exact=True))
    for name in links[1:]:
        leave_by(page.get_by_role("main").get_by_role("navigation").get_by_role("link", name=name, exact=True))


def follow(page: Page, name: str) -> None:
    """Follow a link of the page itself."""
    leave_by(page.get_by_role("main").get_by_role("link", name=name, exact=True).first)


def open_first(page: Page, table: str) -> str:
    """Follow the link of a table's first row; its text."""
    link = page.get_by_role("table", name=table).get_by_role("rowheader").get_by_role("link").first
    name = link.inner_text()
    leave_by(link)
    return name


def press(page: Page, name: str) -> None:
    """Press a button of the page itself."""
    leave_by(page.get_by_role("main").get_by_role("button", name=name, exact=True))


def fill(page: Page, **typed: str) -> None:
    """Type into the fields with these names; choose in a select by its words."""
    for name, text in typed.items():
        control = page.get_by_role("main").locator(f"[name={name}]")
        if control.evaluate("control => control.tagName") == "SELECT":
            control.select_option(label=text)
        else:
            control.fill(text)


def heading(page: Page, text: str) -> None:
    """The page is the one with this heading."""
    expect(page.get_by_role("heading", level=1)).to_have_text(text)


def told(page: Page, text: str) -> None:
    """The page says so, in one of its messages."""
    expect(page.locator(".flashes, .note").filter(has_text=text).first).to_be_visible()


def bring_in(page: Page, kind: str, table: str) -> None:
    """Import a table as a file: choose it, look at what was understood, say yes."""
    go(page, "Import")
    page.get_by_role("radio", name=kind).check()
    file: Any = {"name": f"{kind}.csv", "mimeType": "text/csv", "buffer": table.encode("cp1252")}
    page.get_by_label("File").set_input_files(file)
    press(page, "Look at the file")
    heading(page, "Look before you import")
    leave_by(page.get_by_role("button", name="Write"))
    heading(page, "Imported")


def save(page: Page, name: str) -> None:
    """Save the form, and read that it was saved."""
    press(page, "Save")
    told(page, f"“{name}” was saved.")


def cells(table: Locator) -> list[list[str]]:
    """The texts of a table's body."""
    return [[" ".join(text.split()) for text in row.locator("th, td").all_inner_texts()]
            for row in table.locator("tbody tr").all()]  # fmt: skip


def download(page: Page, name: str) -> list[dict[str, Any]]:
    """Rows, by their headings, of the workbook behind a link."""
    with page.expect_download() as waiting:
        page.get_by_role("main").get_by_role("link", name=name, exact=True).first.click()
    book = openpyxl.load_workbook(io.BytesIO(Path(waiting.value.path()).read_bytes()))
    headings, *rows = book.worksheets[0].iter_rows(values_only=True)
    return [dict(zip(map(str, headings), row, strict=True)) for row in rows]
