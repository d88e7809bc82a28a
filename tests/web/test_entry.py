"""Who may ask: this machine, pages of this server, and in a network whoever knows the passphrase."""

from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from pullcurve.web import entry, gate
from pullcurve.web.app import create_app
from pullcurve.web.entry import PAUSE, TRIES, Entry, Tries, entry_for
from pullcurve.web.settings import Settings, is_loopback

WORDS = "roller on the flank"


@pytest.fixture
def shop() -> Iterator[TestClient]:
    """A server in the shop's network, asked from a tablet."""
    app = create_app(Settings("192.168.7.20", 8137, ("bench",), entry_for(WORDS)))
    with TestClient(app, base_url="http://192.168.7.20:8137", follow_redirects=False) as asked:
        yield asked


def enter(shop: TestClient, passphrase: str = WORDS, target: str = "/") -> Any:
    return shop.post("/enter", data={"passphrase": passphrase, "next": target})


# By name ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("host", "local", "network"),
    [
        ("127.0.0.1:8137", True, True),
        ("localhost", True, True),
        ("[::1]:8137", True, True),
        ("LOCALHOST:1", True, True),
        ("localhost.", True, True),
        ("192.168.7.20", False, True),
        ("[fe80::1]", False, True),
        ("bench", False, True),
        ("evil.example", False, False),
        ("localhost.evil.example", False, False),
        ("127.0.0.1.evil.example", False, False),
        ("", False, False),
        ("[::1", False, False),
        ("localhost:99999999", False, False),
        ("localhost:port", False, False),
    ],
)
def test_a_name_that_is_not_ours_is_refused(host: str, local: bool, network: bool) -> None:
    assert gate.is_known(host, gate.known_names(Settings()), loopback_only=True) is local
    names = gate.known_names(Settings("192.168.7.20", names=("bench",)))
    assert gate.is_known(host, names, loopback_only=False) is network


def test_a_name_that_was_turned_to_this_machine_gets_nothing(client: TestClient) -> None:
    answer = client.get("/api/jobs/demo", headers={"Host": "evil.example"})
    assert answer.status_code == 421
    assert answer.json()["faults"][0]["said"] == "is refused: this server is not known by that name"


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 422),
        ({"Origin": "http://127.0.0.1"}, 422),
        ({"Origin": "http://127.0.0.1:9"}, 403),
        ({"Origin": "https://127.0.0.1"}, 403),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1"}, 422),
    ],
)
def test_a_page_of_another_site_may_not_ask(client: TestClient, headers: dict[str, str], status: int) -> None:
    assert client.post("/api/pull", json={}, headers=headers).status_code == status


def test_every_answer_tells_the_browser_to_keep_to_this_server(client: TestClient) -> None:
    for path in ("/", "/api/alive", "/static/sheet.css", "/nothing", "/api/pull"):
        headers = client.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy and "http" not in policy
        assert "access-control-allow-origin" not in headers


# By size ----------------------------------------------------------------------------------------------------------


def test_a_question_that_is_too_large_is_refused_by_what_it_says(client: TestClient) -> None:
    answer = client.post("/api/pull", content=b"x" * (gate.MOST + 1))
    assert answer.status_code == 413
    assert answer.json()["faults"][0] == {"where": "/api/pull", "key": "", "said": "is too large"}


def test_a_question_that_says_no_size_is_counted_while_it_comes(client: TestClient) -> None:
    def endless() -> Iterator[bytes]:
        for _ in range(40):
            yield bytes(100_000)

    assert client.post("/api/pull", content=endless()).status_code == 413
    assert client.post("/api/jobs/import", content=endless()).status_code == 413


def test_a_question_that_is_packed_is_not_unpacked(client: TestClient) -> None:
    answer = client.post("/api/pull", content=b"\x1f\x8b", headers={"Content-Encoding": "gzip"})
    assert answer.status_code == 415


def test_what_is_no_json_is_told_in_one_line(client: TestClient) -> None:
    for content in (b"{", b"\xff", b"[" * 100_000, b'{"job": ' + b"9" * 5000 + b"}", b"null", b"[]"):
        answer = client.post("/api/pull", content=content, headers={"Content-Type": "application/json"})
        assert answer.status_code in (400, 422), content[:20]
        assert len(answer.json()["faults"]) >= 1


# By passphrase ------------------------------------------------------------------------------------------------------


def test_this_machine_needs_no_passphrase(client: TestClient) -> None:
    assert is_loopback("127.0.0.1") and is_loopback("::1") and is_loopback("localhost")
    assert not is_loopback("0.0.0.0") and not is_loopback("bench.local")
    assert client.get("/enter").headers["location"] == "/"
    assert client.post("/enter", content=b"").status_code == 303


def test_without_the_passphrase_there_is_the_question_for_it_and_nothing_else(shop: TestClient) -> None:
    assert shop.get("/").headers["location"] == "/enter"
    assert shop.get("/api/jobs/demo").status_code == 401
    assert shop.post("/api/pull", json={}).status_code == 401
    assert shop.get("/entering").headers["location"] == "/enter"
    assert "Passphrase" in shop.get("/enter").text
    for path in ("/tokens.css", "/static/sheet.css", "/fonts/regular.ttf"):
        assert shop.get(path).status_code == 200


def test_the_passphrase_opens_and_leaving_closes(shop: TestClient) -> None:
    assert enter(shop, "wrong").status_code == 403
    answer = enter(shop, target="/find?job=1")
    assert (answer.status_code, answer.headers["location"]) == (303, "/find?job=1")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie
    assert WORDS not in cookie
    assert shop.get("/api/jobs/demo").status_code == 200
    shop.post("/leave")
    assert shop.get("/api/jobs/demo").status_code == 401


@pytest.mark.parametrize("target", ["//evil.example", "https://evil.example", "/\\evil.example", "", "/a\nb"])
def test_the_way_on_leads_nowhere_else(shop: TestClient, target: str) -> None:
    assert enter(shop, target=target).headers["location"] == "/"


def test_after_too_many_tries_not_even_the_passphrase_is_heard(shop: TestClient) -> None:
    assert [enter(shop, "wrong").status_code for _ in range(TRIES)] == [403] * TRIES
    assert enter(shop).status_code == 429


def test_tries_are_forgotten_after_a_pause_and_counted_for_everybody() -> None:
    now = [0.0]
    tries = Tries(lambda: now[0])
    assert [tries.allow("a") for _ in range(TRIES + 1)] == [True] * TRIES + [False]
    assert tries.allow("b")
    now[0] = PAUSE
    assert tries.allow("a")
    tries.forget("a")
    assert [tries.allow(f"{number}") for number in range(entry.EVERYBODY + 1)].count(True) == entry.EVERYBODY
    assert not tries.allow("somebody else")


def test_a_mark_is_good_for_a_while_and_only_as_it_was_signed() -> None:
    known = entry_for(WORDS)
    mark = known.mark(1000.0)
    until, _, signature = mark.partition(".")
    assert known.accepts(mark, 1000.0 + entry.LASTS - 1)
    assert not known.accepts(mark, 1000.0 + entry.LASTS)
    for forged in (f"{int(until) + 9}.{signature}", until, "", f"{until}.", f"٣.{signature}", "ä.ö"):
        assert not known.accepts(forged, 1000.0)
    assert not entry_for(WORDS).accepts(mark, 1000.0)


def test_the_hash_is_that_of_the_published_function() -> None:
    # RFC 7914, section 12, second example: N 1024, r 8, p 16; the parameters here are others, the function the same.
    import hashlib

    known = hashlib.scrypt(b"password", salt=b"NaCl", n=1024, r=8, p=16, dklen=64).hex()
    assert known.startswith("fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162")
    own = Entry(b"NaCl", entry.digest("password", b"NaCl"), b"", Tries())
    assert own.knows("password") and not own.knows("Password")
    expected = hashlib.scrypt(b"password", salt=b"NaCl", n=entry.COST, r=entry.BLOCK, p=entry.LANES, dklen=32)
    assert own.hashed == expected
