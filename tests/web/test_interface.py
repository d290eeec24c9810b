"""The page's own description of itself: whatever fits it is answered without an error of ours."""

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings

from tripplan.files.demos import DEMOS, copy_demo
from tripplan.web.access.keys import Keys
from tripplan.web.access.security import FORM_COOKIE, Access
from tripplan.web.app import create_app

schemathesis = pytest.importorskip("schemathesis")

HOST, COOKIE = "127.0.0.1:8765", "a-browser"
ACCESS = Access(keys=Keys(secret="78" * 32))


def _fields(body: Any) -> list[tuple[str, Any]]:
    return list(body.items()) if isinstance(body, dict) else []


@pytest.mark.slow
def test_nothing_that_fits_the_description_breaks_the_page(tmp_path: Path) -> None:
    """Otherwise a program of the owner's could end in an error of ours (schemathesis makes the requests)."""
    folder = tmp_path / "trip"
    copy_demo("after-crossing", folder)
    app = create_app(folder, DEMOS["after-crossing"], ACCESS, background=False)
    described = schemathesis.openapi.from_asgi("/openapi.json", app, headers={"host": HOST})
    client = TestClient(app, base_url="http://127.0.0.1:8765", cookies={FORM_COOKIE: COOKIE})
    asked: list[str] = []
    for found in described.get_all_operations():
        operation = found.ok()

        @settings(max_examples=3, deadline=None, database=None, suppress_health_check=list(HealthCheck))
        @given(case=operation.as_strategy())
        def ask(case: Any) -> None:
            sent = {"csrf": ACCESS.form_token(COOKIE)} | {k: str(v) for k, v in _fields(case.body) if k != "csrf"}
            query = {name: str(value) for name, value in (case.query or {}).items()}
            data = sent if case.method == "POST" else None
            answer = client.request(case.method, case.formatted_path, params=query, data=data, follow_redirects=False)
            asked.append(f"{case.method} {case.path}")
            assert answer.status_code < 500, (case.method, case.formatted_path, case.body)
            assert answer.status_code != 421

        ask()
    assert len(set(asked)) >= 20
