"""The README's two pictures, taken out of the demo's own work sheet: its first page as it is printed, and the trip line.

Each is an SVG by itself. The page stands in it as the very elements and the style of the sheet, with what holds for
print, up to the sheets of the single days.
"""

import re
from itertools import dropwhile
from pathlib import Path

from lxml import etree, html

SHEET = Path(__file__).parents[2] / "demo" / "outback" / "outputs" / "worksheet.html"
PICTURES = Path(__file__).parents[2] / "demo" / "outback" / "pictures"
WIDTH, HEIGHT, ACROSS, DOWN = 794, 1123, 41, 36  # A4 at 96 points an inch, and the margins the sheet is printed with
SVG = "http://www.w3.org/2000/svg"


def pictures() -> dict[str, str]:
    """Both pictures by the name of their file."""
    sheet = html.fromstring(SHEET.read_text(encoding="utf-8"))
    return {"page_one.svg": _page(sheet), "trip_line.svg": _trip_line()}


def _page(sheet: html.HtmlElement) -> str:
    style = "".join(sheet.xpath("//style/text()")).replace("@media print", "@media all")
    style = re.sub(r"@media \(prefers-color-scheme: dark\) \{\s*:root \{[^}]*\}\s*\}", "", style)
    main = sheet.xpath("//main")[0]
    for part in list(dropwhile(lambda part: "work" not in part.get("class", "").split(), main)):
        main.remove(part)
    for drawn in main.iter("svg"):  # HTML reads names in small letters, SVG does not
        drawn.set("viewBox", drawn.attrib.pop("viewbox"))
    body = etree.tostring(main, method="xml", encoding="unicode")
    return (
        f'<svg xmlns="{SVG}" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">\n'
        f'<title>The first page of the invented demo\'s work sheet</title>\n<rect width="100%" height="100%" fill="#fff"/>\n'
        f'<foreignObject x="{ACROSS}" y="{DOWN}" width="{WIDTH - 2 * ACROSS}" height="{HEIGHT - 2 * DOWN}">\n'
        f'<body xmlns="http://www.w3.org/1999/xhtml"><style><![CDATA[\n{style}\n]]></style>\n{body}</body>\n'
        "</foreignObject>\n</svg>\n"
    )


def _trip_line() -> str:
    """The first picture of the trip line as it stands in the sheet, in black on white."""
    raw = SHEET.read_text(encoding="utf-8")
    found = re.search(r"<svg (?=[^>]*trip-line-wide-1)(.*?)</svg>", raw, re.DOTALL)
    assert found, "the sheet has no trip line"
    return f'<svg style="background: #fff; color: #15171a; font-family: sans-serif" {found.group(1)}</svg>\n'
