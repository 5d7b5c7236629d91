"""Who may ask and write. Attacks as of OWASP's Cross-Site Request Forgery and DNS rebinding."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import HOST, TOKEN
from flask.testing import FlaskClient

TRY = "/write?try=change:C-mid:Kordia"


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8000", "127.0.0.1:1", "127.0.0.1"])
def test_another_host_is_refused(client: FlaskClient, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 403


def test_a_form_without_the_token_writes_nothing(client: FlaskClient, plan: Path) -> None:
    before = plan.read_bytes()
    for token in ({}, {"token": ""}, {"token": TOKEN[:-1]}, {"token": "é"}):
        answer = client.post(TRY, data={"digest": _digest(plan), **token})
        assert answer.status_code == 403
    assert plan.read_bytes() == before


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": f"https://{HOST}"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_another_site_writes_nothing(
    client: FlaskClient, plan: Path, headers: dict[str, str]
) -> None:
    before = plan.read_bytes()
    data = {"digest": _digest(plan), "token": TOKEN}
    assert client.post(TRY, data=data, headers=headers).status_code == 403
    assert plan.read_bytes() == before
    own = {"Origin": f"http://{HOST}", "Sec-Fetch-Site": "same-origin"}
    assert client.post(TRY, data=data, headers=own).status_code == 302
    assert plan.read_bytes() != before


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "OPTIONS"])
def test_no_other_method_is_known(client: FlaskClient, method: str) -> None:
    assert client.open("/write", method=method).status_code == 405


def test_looking_never_writes(client: FlaskClient, plan: Path) -> None:
    before, names = plan.read_bytes(), sorted(x.name for x in plan.parent.iterdir())
    rules = client.application.url_map.iter_rules()
    for rule in rules:
        if "GET" not in (rule.methods or ()) or rule.arguments:
            continue
        client.get(f"{rule.rule}?try=change:C-mid:Kordia&token={TOKEN}&digest={_digest(plan)}")
    assert plan.read_bytes() == before
    assert sorted(x.name for x in plan.parent.iterdir()) == names


def test_every_answer_carries_the_policy(read_only: FlaskClient) -> None:
    for address in ("/", "/static/page.css", "/limb/none", "/nothing"):
        with read_only.get(address) as answer:
            headers = answer.headers
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "Server" not in headers


def test_pages_have_no_script_or_style_of_their_own(read_only: FlaskClient) -> None:
    for address in ("/", "/limb/C-mid", "/try?try=change:C-mid:Kordia", TRY, "/nothing"):
        text = read_only.get(address).get_data(as_text=True)
        assert "<script>" not in text and " style=" not in text and " onclick" not in text
        assert text.count("<script ") == text.count('<script src="/static/')


def test_too_large_a_form_is_refused(client: FlaskClient, plan: Path) -> None:
    before = plan.read_bytes()
    large = {"token": TOKEN, "digest": "x" * 100_000}
    assert client.post(TRY, data=large).status_code == 413
    assert plan.read_bytes() == before


@pytest.mark.parametrize(
    "address",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/limb/../../etc/passwd",
        "/limb/%2e%2e%2fplan.toml",
    ],
)
def test_no_way_out_of_the_folders(read_only: FlaskClient, address: str) -> None:
    answer = read_only.get(address)
    assert answer.status_code == 404
    assert "import" not in answer.get_data(as_text=True)


@pytest.mark.parametrize("back", ["//evil.example", "/\\evil.example", "https://evil.example"])
def test_the_choice_of_language_leads_nowhere_else(read_only: FlaskClient, back: str) -> None:
    answer = read_only.get("/language/de", query_string={"back": back})
    assert answer.headers["Location"] == "/"


def _digest(plan: Path) -> str:
    from pollinet.page.desk import digest_of

    return digest_of(plan)
