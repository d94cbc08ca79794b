"""Photos sent by a phone over the local network: the code on the desk's page, the tiny page on the phone."""
from __future__ import annotations

import pytest
from playwright.sync_api import expect

from desk.server import phone_photos
from tests.support.hands import disk, saved
from tests.support.invented_room import VIEWS, picture


@pytest.fixture
def at_home(monkeypatch):
    """This machine alone stands for the network."""
    monkeypatch.setattr(phone_photos, "lan_address", lambda: "127.0.0.1")


def test_a_phone_sends_its_photos(quick_desk, open_page, tmp_path, at_home):
    desk = quick_desk()
    watched = open_page(desk.address)
    page = watched.page
    assert page.locator(".qr").count() == 0  # off until asked
    page.click("[data-key=link-open]")
    expect(page.locator(".qr")).to_be_visible()
    expect(page.locator(".from-phone")).to_contain_text("plain HTTP")
    address = page.locator(".link span").inner_text()
    phone = open_page(address, "phone")
    assert phone.page.evaluate("document.documentElement.scrollWidth <= screen.width")
    files = []
    for number, view in enumerate(VIEWS, start=1):
        files.append(tmp_path / f"IMG_{number}.jpg")
        files[-1].write_bytes(picture(view))
    (tmp_path / "note.jpg").write_text("no picture")
    phone.page.set_input_files("#pick", [str(file) for file in [*files, tmp_path / "note.jpg"]])
    expect(phone.page.locator("#done")).to_contain_text("2 photos are on the computer, 1 not")
    expect(page.locator(".shots li")).to_have_count(2)
    saved(page)
    assert [entry["size"] for entry in disk(desk.folder)["photos"]] == [[1600, 1200]] * 2
    assert (desk.folder / "photos/1.jpg").read_bytes() == files[0].read_bytes()
    other = open_page(address, "phone")
    expect(other.page.locator("p")).to_contain_text("opened by another phone")
    page.click("[data-key=link-close]")
    expect(page.locator(".qr")).to_have_count(0)
    assert watched.errors == [] and watched.outside(desk.home) == []
    phone.page.set_input_files("#pick", str(files[0]))
    expect(phone.page.locator("#list li").last).to_contain_text("did not arrive")
