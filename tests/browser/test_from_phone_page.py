"""The page on which the records of a phone come home: squares where the browser reads them, text everywhere."""

import base64
from typing import Any

from tests.browser.page_server import PHONE, Served
from tests.browser.test_page_access import ALL_RULES

PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
# Stands for a browser that reads squares, which none on these machines does: one square a picture.
READER = """
    const seen = ['tripplan field part 2/2 0a1b2c3d b|', 'an address of somebody', 'tripplan field part 1/2 0a1b2c3d a|'];
    window.BarcodeDetector = class {
        static getSupportedFormats() { return Promise.resolve(['qr_code']); }
        detect() { return Promise.resolve([{ rawValue: seen.shift() }]); }
    };
"""


def test_squares_in_pictures_are_put_into_the_text(browser: Any, read_only: Served) -> None:
    """Otherwise whoever has no other way off the phone would type an evening's findings from a picture."""
    page = browser.new_page(viewport=PHONE)
    page.add_init_script(READER)
    page.goto(f"{read_only.address}/from-phone")
    picture = {"name": "square.png", "mimeType": "image/png", "buffer": PIXEL}
    page.get_by_label("Pictures of the squares").set_input_files([picture, picture])
    page.get_by_role("status").get_by_text("1 of 2 squares read.").wait_for()
    page.get_by_label("Pictures of the squares").set_input_files([picture])
    page.get_by_role("status").get_by_text("2 of 2 squares read.").wait_for()
    lines = page.get_by_label("Or pasted").input_value().splitlines()
    assert sorted(lines) == ["tripplan field part 1/2 0a1b2c3d a|", "tripplan field part 2/2 0a1b2c3d b|"]
    page.close()


def test_a_browser_that_reads_no_squares_says_so(browser: Any, read_only: Served, axe: str) -> None:
    """Otherwise somebody would hold a phone before a camera that sees nothing."""
    context = browser.new_context(viewport=PHONE, bypass_csp=True)
    page = context.new_page()
    page.add_init_script("delete window.BarcodeDetector")
    page.goto(f"{read_only.address}/from-phone")
    assert page.get_by_text("This browser does not read squares").is_visible()
    rights = "[...document.querySelectorAll('main *')].map((one) => one.getBoundingClientRect().right)"
    assert max(page.evaluate(rights)) <= PHONE["width"]
    page.evaluate(axe)
    told = page.evaluate(f"axe.run(document, {{resultTypes: ['violations'], runOnly: {ALL_RULES}}})")
    assert told["violations"] == []
    context.close()
