"""The page answers a visitor, on a port and in a browser."""

from __future__ import annotations

import httpx

from tests.page.visiting import Served, Visitor


def test_a_visitor_sees_the_builds(client: Visitor) -> None:
    answer = client.get("/")
    assert answer.status_code == 200
    assert "street-turbo" in answer.text


def test_a_form_is_taken_with_its_token(client: Visitor) -> None:
    assert client.post("/own", units="imperial").status_code == 303
    assert "<option selected>imperial" in client.get("/").text


def test_a_copy_of_the_demo_may_be_written_to(writer: Visitor) -> None:
    assert writer.get("/build/street-turbo").status_code == 200
    assert not writer.app.state.desk.is_demo


def test_a_page_is_served_on_a_port(served_demo: Served) -> None:
    assert httpx.get(served_demo.url).status_code == 200
