"""Who may ask the server of the page, row by row, against what browsers and other sites can send.

The rows follow OWASP, Cross-Site Request Forgery Prevention (Origin and Fetch Metadata), and what the wiki of
NCC Group's Singularity of Origin says of names that are made to lead to the user's machine.
"""

import pytest

from support.asked import Asked
from towerpace.workbench.desk import Desk
from towerpace.workbench.guards import POLICY, Lock
from towerpace.workbench.server import MOST_BODY_BYTES, app_of

PORT = 8123
ORIGIN = f"http://127.0.0.1:{PORT}"
LOCK = Lock(PORT)
ASKED = {"changes": {}, "trials": 20}


@pytest.fixture(scope="module")
def app():
    """The server of a small scenario, without players: what is let through is answered all the same."""
    return app_of(Desk("scenarios/one_trade/scenario.toml", seed=1), LOCK)


@pytest.fixture
def stranger(app):
    return Asked(app, ORIGIN)


@pytest.fixture
def page(stranger):
    assert stranger.get(f"/?key={LOCK.key}").status_code == 303
    return stranger


def test_the_key_is_changed_for_a_cookie_that_scripts_and_other_sites_do_not_get(stranger):
    answer = stranger.get(f"/?key={LOCK.key}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert cookie.startswith(f"towerpace_{PORT}=")
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize(
    "path", ["/", "/?key=", "/?key=wrong", "/?key=%C3%A4", "/tower", "/static/index.html"]
)
def test_without_the_key_nothing_is_told(stranger, path):
    assert stranger.get(path).status_code == 403


def test_a_name_that_is_made_to_lead_here_is_no_host_of_ours(page):
    assert page.get("/tower", headers={"host": f"evil.example:{PORT}"}).status_code == 421
    assert page.get("/tower", headers={"host": "127.0.0.1:80"}).status_code == 421
    assert page.get("/tower", headers={"host": f"localhost:{PORT}"}).status_code == 200


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": ORIGIN}, 200),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": f"http://localhost:{PORT}"}, 403),
        ({"origin": "null"}, 403),
        ({}, 403),
        ({"origin": ORIGIN, "content-type": "text/plain"}, 415),
        ({"origin": ORIGIN, "content-type": "application/json; charset=utf-8"}, 200),
        ({"origin": ORIGIN, "sec-fetch-site": "cross-site"}, 403),
        ({"origin": ORIGIN, "sec-fetch-site": "same-site"}, 403),
        ({"origin": ORIGIN, "sec-fetch-site": "same-origin"}, 200),
    ],
)
def test_only_our_own_page_may_ask(page, headers, status):
    assert page.post("/ask", json=ASKED, headers=headers).status_code == status


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("POST", "/keep"),
        ("POST", "/advice"),
        ("DELETE", "/advice"),
        ("POST", "/choice"),
        ("DELETE", "/choice"),
        ("DELETE", "/"),
    ],
)
def test_whatever_writes_or_starts_something_asks_for_our_own_origin(page, method, path):
    for headers in ({}, {"origin": "http://evil.example"}):
        assert page.request(method, path, headers=headers).status_code == 403


def test_a_file_is_not_written_for_what_the_page_has_not_shown(page):
    body = {"name": "tried", "note": "", "changes": {}, "was": "0" * 64}
    assert page.post("/keep", json=body, headers={"origin": ORIGIN}).status_code == 409
    body |= {"changes": {"tower.levels": "/etc/passwd"}}
    assert page.post("/keep", json=body, headers={"origin": ORIGIN}).status_code == 422
    assert page.post("/keep", json={"name": 3}, headers={"origin": ORIGIN}).status_code == 400


@pytest.mark.parametrize("which", ["-1", "2000", "p81", "99999999999999999999", "1e3", "%2e%2e"])
def test_no_other_trial_is_played_than_one_of_those_that_may_be_asked(page, which):
    assert page.get(f"/trial/{which}").status_code == 404


def test_another_server_on_this_machine_has_not_the_cookie_of_this_one(page):
    """Cookies and SameSite do not tell ports apart: the name of the cookie does."""
    page.cookies.clear()
    page.cookies.set(f"towerpace_{PORT + 1}", LOCK.ticket)
    assert page.get("/tower").status_code == 403


@pytest.mark.parametrize("method", ["OPTIONS", "PUT", "PATCH", "TRACE"])
def test_no_other_method_is_answered(page, method):
    assert page.request(method, "/ask", headers={"origin": ORIGIN}).status_code == 403


@pytest.mark.parametrize(
    "name", ["../server.py", "..%2fserver.py", "%2e%2e/server.py", "nothing.js", "__init__.py"]
)
def test_nothing_but_the_files_of_the_page_is_served(page, name):
    assert page.get(f"/static/{name}").status_code == 404


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"{", 400),
        (b"", 400),
        (b"[]", 400),
        (b"\xff\xfe", 400),
        (b'{"changes": NaN}', 400),
        (b'{"changes": {}, "record": "/etc/passwd"}', 400),
        (b'{"changes": {}, "trials": 0}', 400),
        (b'{"changes": {}, "trials": true}', 400),
        (b'{"changes": {}, "trials": 2001}', 400),
        (b'{"changes": 3}', 400),
        (b'{"set_up": "nobody"}', 400),
        (b"[" * 30_000, 400),
        (b" " * (MOST_BODY_BYTES + 1), 413),
    ],
)
def test_a_body_that_is_no_question_is_refused(page, body, status):
    headers = {"origin": ORIGIN, "content-type": "application/json"}
    answer = page.post("/ask", content=body, headers=headers)
    assert answer.status_code == status
    assert answer.json()["faults"]


def test_bytes_are_counted_where_no_length_is_told(page):
    async def chunks():
        for _ in range(3):
            yield b" " * 50_000

    headers = {"origin": ORIGIN, "content-type": "application/json"}
    assert page.post("/ask", content=chunks(), headers=headers).status_code == 413


@pytest.mark.parametrize(
    "key", ["tower.levels", "weather.record", "trade.panels.unit_min.samples", "setup.x", "a b"]
)
def test_what_was_not_offered_is_not_changed(page, key):
    answer = page.post("/ask", json={"changes": {key: "/etc/passwd"}}, headers={"origin": ORIGIN})
    assert answer.status_code == 400
    assert key in answer.json()["faults"][0]


def test_every_answer_says_what_a_browser_may_do_with_it(page, stranger):
    for answer in (page.get("/"), page.get("/tower"), page.get("/no"), stranger.get("/?key=wrong")):
        assert answer.headers["content-security-policy"] == POLICY
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "access-control-allow-origin" not in answer.headers


def test_a_key_is_new_each_time():
    assert len({Lock(PORT).key for _ in range(5)} | {Lock(PORT).ticket for _ in range(5)}) == 10
