"""Who is turned away. The rules themselves: Fetch Metadata (W3C), Origin (RFC 6454), 421 (RFC 9110 15.5.20)."""
from __future__ import annotations

import pytest

from desk.server.http.guard import SAFE_HEADERS, TOKEN_HEADER, Guard, new_guard

GUARD = Guard(hosts=("127.0.0.1:8123", "localhost:8123"), token="right-token")
OWN = {"Host": "127.0.0.1:8123", TOKEN_HEADER: "right-token"}


def status(method: str, path: str, **headers: str | None) -> int:
    """200 if the guard lets the request pass; underscores in names stand for dashes, None takes a header away."""
    named = {key.replace("_", "-"): value for key, value in headers.items()}
    sent = {key: value for key, value in (OWN | named).items() if value is not None}
    refusal = GUARD.find_refusal(method, path, sent)
    return 200 if refusal is None else refusal.status


@pytest.mark.parametrize("host", ["127.0.0.1:8123", "localhost:8123"])
def test_its_own_hosts_pass(host):
    assert status("GET", "/api/job", Host=host) == 200


@pytest.mark.parametrize("host", ["", "evil.example", "evil.example:8123", "127.0.0.1", "127.0.0.1:8124",
                                  "127.0.0.1:8123.evil.example", "localhost:8123@evil.example", "LOCALHOST:8123",
                                  "0.0.0.0:8123", "[::1]:8123"])
def test_any_other_host_is_misdirected(host):
    assert status("GET", "/", Host=host) == 421


def test_a_missing_host_is_misdirected():
    assert status("GET", "/", Host=None) == 421


@pytest.mark.parametrize("path", ["/api/job", "/api/photos/1.jpg", "/api/tasks/survey-1", "/\xffapi/job",
                                  "/a\xffpi/job", "/\x80api/tasks/x", "//api/job", "/./api/job", "/API/job",
                                  "/pack/key/\xff../../api/job", "/api", "/index.html/../api/job"])
def test_reading_the_job_needs_the_token(path):
    assert status("GET", path, **{TOKEN_HEADER: None}) == 403
    assert status("GET", path, **{TOKEN_HEADER: "right-toke"}) == 403
    assert status("GET", path) == 200


@pytest.mark.parametrize("method", ["POST", "PUT"])
@pytest.mark.parametrize("path", ["/", "/api/job", "/api/survey", "/pack/x/booklet.pdf"])
def test_every_change_needs_the_token(method, path):
    assert status(method, path, **{TOKEN_HEADER: None}) == 403


def test_a_token_with_letters_outside_ascii_is_refused_and_does_not_break_the_comparison():
    assert status("GET", "/api/job", **{TOKEN_HEADER: "räksmörgås"}) == 403


@pytest.mark.parametrize("method", ["GET", "POST", "PUT"])
@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8123", "http://127.0.0.1:9000",
                                    "http://127.0.0.1:8123.evil.example"])
def test_a_foreign_origin_is_refused_even_with_the_token(method, origin):
    assert status(method, "/api/job", Origin=origin) == 403


def test_its_own_origin_passes():
    assert status("PUT", "/api/job", Origin="http://127.0.0.1:8123") == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site", "anything-new"])
def test_a_request_from_elsewhere_is_refused(site):
    assert status("GET", "/api/job", Sec_Fetch_Site=site) == 403
    assert status("GET", "/main.js", Sec_Fetch_Site=site, Sec_Fetch_Mode="no-cors", Sec_Fetch_Dest="script") == 403
    assert status("GET", "/", Sec_Fetch_Site=site, Sec_Fetch_Mode="navigate", Sec_Fetch_Dest="iframe") == 403
    assert status("GET", "/pack/key/booklet.pdf", Sec_Fetch_Site=site, Sec_Fetch_Mode="navigate",
                  Sec_Fetch_Dest="document") == 403


def test_a_link_from_elsewhere_may_open_the_bare_page():
    assert status("GET", "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="navigate", Sec_Fetch_Dest="document",
                  **{TOKEN_HEADER: None}) == 200


@pytest.mark.parametrize("method", ["DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"])
def test_other_methods_are_not_known(method):
    assert status(method, "/api/job") == 405


def test_every_run_has_a_token_of_its_own_of_at_least_128_bits():
    tokens = {new_guard(1).token for _ in range(50)}
    assert len(tokens) == 50
    # 22 letters of base64url hold 132 bits.
    assert min(map(len, tokens)) >= 22


def test_the_policy_allows_nothing_but_the_page_itself():
    policy = dict(SAFE_HEADERS)["Content-Security-Policy"]
    rules = dict(rule.strip().partition(" ")[::2] for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert {source for sources in rules.values() for source in sources.split()} <= {"'none'", "'self'", "blob:"}
    assert not any("unsafe" in sources for sources in rules.values())
