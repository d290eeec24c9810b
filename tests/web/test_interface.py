"""The page's own description of itself: whatever fits it is answered without an error of ours."""

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, settings

from tripplan.edges.demos import DEMOS, copy_demo
from tripplan.web.app import create_app
from tripplan.web.security import FORM_COOKIE, Access

HOST, COOKIE = "127.0.0.1:8765", "a-browser"
ACCESS = Access(secret=b"x" * 32)


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The description of the page of the smallest demo."""
    folder = tmp_path_factory.mktemp("described") / "trip"
    copy_demo("after-crossing", folder)
    app = create_app(folder, DEMOS["after-crossing"], ACCESS, background=False)
    return schemathesis.openapi.from_asgi("/openapi.json", app, headers={"host": HOST})


page = schemathesis.pytest.from_fixture("described")


@page.parametrize()
@settings(max_examples=3, deadline=None, suppress_health_check=list(HealthCheck))
def test_nothing_that_fits_the_description_breaks_the_page(case: Any) -> None:
    """Otherwise a program of the owner's could end in an error of ours (schemathesis makes the requests)."""
    if isinstance(case.body, dict):
        case.body["csrf"] = ACCESS.form_token(COOKIE)
    answer = case.call(headers={"host": HOST}, cookies={FORM_COOKIE: COOKIE})
    assert answer.status_code < 500
