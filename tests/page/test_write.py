"""Trying, writing, taking back; a hand that edits the file meanwhile."""

from __future__ import annotations

import re
from pathlib import Path

from conftest import TOKEN
from flask.testing import FlaskClient

from pollinet.page.desk import Desk

TRY = "/write?try=change:C-mid:Kordia"


def test_a_try_is_written_and_taken_back(client: FlaskClient, plan: Path) -> None:
    before = plan.read_bytes()
    assert "1 of 8" not in _text(client, "/")
    assert "8 of 8 limbs have" in _text(client, "/try?try=change:C-mid:Kordia")
    assert plan.read_bytes() == before
    shown = _text(client, TRY)
    assert "Regina" in shown and "Kordia" in shown
    client.post(TRY, data={"token": TOKEN, "digest": _digest(shown)})
    assert plan.read_bytes() == before.replace(b'variety = "Regina"', b'variety = "Kordia"')
    assert "8 of 8 limbs have" in _text(client, "/")
    client.post("/undo", data={"token": TOKEN})
    assert plan.read_bytes() == before
    assert "7 of 8 limbs have" in _text(client, "/")


def test_an_edit_by_hand_is_not_written_over(client: FlaskClient, plan: Path) -> None:
    digest = _digest(_text(client, TRY))
    plan.write_text(plan.read_text(encoding="utf-8") + "\n# by hand\n", encoding="utf-8")
    answer = client.post(TRY, data={"token": TOKEN, "digest": digest})
    assert answer.status_code == 409
    assert "changed meanwhile" in answer.get_data(as_text=True)
    assert plan.read_text(encoding="utf-8").endswith("# by hand\n")


def test_what_was_edited_since_is_not_taken_back(client: FlaskClient, plan: Path) -> None:
    client.post(TRY, data={"token": TOKEN, "digest": _digest(_text(client, TRY))})
    plan.write_text(plan.read_text(encoding="utf-8") + "\n# by hand\n", encoding="utf-8")
    assert client.post("/undo", data={"token": TOKEN}).status_code == 409
    assert plan.read_text(encoding="utf-8").endswith("# by hand\n")


def test_two_tabs_do_not_write_over_each_other(client: FlaskClient, plan: Path) -> None:
    one, other = _text(client, TRY), _text(client, "/write?try=change:C-mid:Sam")
    client.post(TRY, data={"token": TOKEN, "digest": _digest(one)})
    later = client.post(
        "/write?try=change:C-mid:Sam", data={"token": TOKEN, "digest": _digest(other)}
    )
    assert later.status_code == 409
    assert 'variety = "Kordia"' in plan.read_text(encoding="utf-8")


def test_a_link_to_a_plan_stays_one(plan: Path, open_page) -> None:  # type: ignore[no-untyped-def]
    link = plan.parent / "link.toml"
    link.symlink_to(plan)
    client = open_page(link)
    client.post(TRY, data={"token": TOKEN, "digest": _digest(_text(client, TRY))})
    assert link.is_symlink() and "Kordia" in plan.read_text(encoding="utf-8")


def test_the_desk_reads_again_what_changed(plan: Path) -> None:
    desk = Desk(plan)
    first = desk.opened()
    assert desk.opened() is first
    (plan.parent / "records.csv").write_text(
        "limb,date,kind,value,unit,note\nC-mid,2025-04-20,stage,full,,\n", encoding="utf-8"
    )
    assert desk.opened() is not first
    second = desk.opened()
    assert desk.opened() is second
    weather = plan.parent / "weather.csv"
    weather.write_text(weather.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert desk.opened() is not second
    plan.write_text("not a plan", encoding="utf-8")
    assert desk.opened().study is None and desk.opened().findings


def test_a_name_with_script_is_text(plan: Path, open_page) -> None:  # type: ignore[no-untyped-def]
    evil = "<script>alert(1)</script>"
    text = plan.read_text(encoding="utf-8").replace("C-mid", evil)
    plan.write_text(text.replace("the garden on the hill", evil), encoding="utf-8")
    client = open_page(plan)
    for address in ("/", f"/try?try=lose:{evil}", f"/write?try=change:{evil}:Kordia"):
        shown = _text(client, address)
        assert "<script>" not in shown and "&lt;script&gt;" in shown


def _text(client: FlaskClient, address: str) -> str:
    return client.get(address).get_data(as_text=True)


def _digest(text: str) -> str:
    found = re.search(r'name="digest" value="(\w+)"', text)
    assert found is not None
    return found[1]
