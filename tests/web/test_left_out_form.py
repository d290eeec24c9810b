"""Leaving an item out of the plan, on its own page."""

from collections.abc import Callable

from tests.web.conftest import Visitor


def test_the_page_leaves_out_and_takes_in_again(visit: Callable[..., Visitor]) -> None:
    """Otherwise the owner would need the command line for it."""
    visitor = visit("good")
    assert visitor.post("/item/winch/leave-out", {"as": "never", "because": ""}).status_code == 422
    told = visitor.post("/item/winch/leave-out", {"as": "done elsewhere", "because": "by the club"}).text
    assert "done elsewhere: by the club" in told
    assert "Winch" not in visitor.get("/why").text
    assert "Plan it again" in told
    visitor.post("/item/winch/leave-out", {"do": "back", "unit": ""})
    assert "Winch" in visitor.get("/why").text
