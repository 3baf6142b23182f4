"""Who may look and act: pairing and its limits, Host, Origin, where a request comes from."""

import asyncio
import json
import re
import stat
from typing import Any

import httpx
import pytest
from fake_control import HOST, Page, make_page

from controller.errors import InputError
from controller.page.access import CONTROL_LIFE, PAIRINGS, token_hash
from controller.page.pairing import FILE, open_pairing


def opened(page: Page) -> str:
    return open_pairing(page.folder, monotonic=page.clock)


def wrong(pin: str) -> str:
    return f"{(int(pin) + 1) % 10**6:06}"


async def tried(client: httpx.AsyncClient, pin: str, **more: Any) -> httpx.Response:
    return await client.post("/api/pair", json={"pin": pin, **more})


async def role(client: httpx.AsyncClient) -> str:
    told: str = (await client.get("/api/me")).json()["role"]
    return told


# Pairing


def test_a_phone_pairs_once_with_the_pin_and_may_act_for_twelve_hours(page: Page) -> None:
    async def story() -> None:
        async with page.client() as phone:
            assert await role(phone) == "watch"
            pin = opened(page)
            assert (await phone.get("/api/me")).json()["pairing_open"] is True
            response = await tried(phone, pin, name="Kim's phone")
            assert response.status_code == 200
            assert response.json()["left_s"] == CONTROL_LIFE
            cookie = response.headers["set-cookie"].lower()
            assert "httponly" in cookie
            assert "samesite=strict" in cookie
            assert (await phone.get("/api/me")).json()["name"] == "Kim's phone"
            page.clock.now += CONTROL_LIFE - 1
            assert await role(phone) == "control"
            page.clock.now += 1
            assert await role(phone) == "watch"
        async with page.client("192.168.1.21") as another:
            assert (await tried(another, pin)).status_code == 401

    asyncio.run(story())


def test_the_token_is_long_and_stands_nowhere_on_disk(page: Page) -> None:
    async def story() -> str:
        async with page.client() as phone:
            await tried(phone, opened(page))
            (token,) = phone.cookies.values()
            return token

    token = asyncio.run(story())
    assert len(token) * 6 >= 128
    assert not any(
        token.encode() in file.read_bytes() for file in page.folder.iterdir() if file.is_file()
    )


def test_a_script_is_given_a_bearer_token_and_needs_no_origin(page: Page) -> None:
    async def story() -> None:
        async with page.client() as phone:
            answer = (await tried(phone, opened(page), bearer=True)).json()
            assert "warmdraw" not in phone.cookies
        async with page.client(origin="-", authorization=f"Bearer {answer['token']}") as script:
            assert await role(script) == "control"
            assert (await script.post("/api/unpair", json={})).status_code == 200
            assert await role(script) == "watch"

    asyncio.run(story())


def test_the_paired_phones_are_listed_and_one_is_sent_away_by_name_or_id(page: Page) -> None:
    async def story() -> None:
        kim, ida = page.door.pair("Kim's phone"), page.door.pair(None)
        page.clock.now += 600
        async with (
            page.client(authorization=f"Bearer {kim}") as kims,
            page.client(authorization=f"Bearer {ida}") as idas,
        ):
            listed = (await kims.get("/api/pairings")).json()["pairings"]
            assert [(one["name"], one["mine"]) for one in listed] == [
                ("Kim's phone", True),
                (None, False),
            ]
            assert {one["left_s"] for one in listed} == {CONTROL_LIFE - 600}
            assert all(token_hash(kim) != one["id"] != kim for one in listed)
            gone = await kims.post("/api/unpair", json={"id": listed[1]["id"]})
            assert gone.json() == {"role": "control", "ended": 1}
            assert (await role(idas), await role(kims)) == ("watch", "control")
            again = await kims.post("/api/unpair", json={"id": listed[1]["id"]})
            assert again.status_code == 404
            gone = await kims.post("/api/unpair", json={"name": "Kim's phone"})
            assert gone.json() == {"role": "watch", "ended": 1}
            assert (await kims.get("/api/pairings")).status_code == 401

    asyncio.run(story())


def test_a_phone_that_only_watches_neither_sees_nor_ends_pairings(page: Page) -> None:
    kim = page.door.pair("Kim's phone")

    async def story() -> None:
        async with page.client() as stranger:
            assert (await stranger.get("/api/pairings")).status_code == 401
            for whose in ({"name": "Kim's phone"}, {"id": token_hash(kim)[:16]}):
                assert (await stranger.post("/api/unpair", json=whose)).status_code == 401
            both = {"name": "Kim's phone", "id": token_hash(kim)[:16]}
            assert (await stranger.post("/api/unpair", json=both)).status_code == 422
        async with page.client(authorization=f"Bearer {kim}") as phone:
            assert await role(phone) == "control"

    asyncio.run(story())


def test_a_wall_clock_that_is_set_neither_ends_nor_lengthens_a_pairing(page: Page) -> None:
    async def story() -> None:
        async with page.client() as phone:
            await tried(phone, opened(page))
            page.wall.now += 200 * 86_400
            assert await role(phone) == "control"
            page.wall.now -= 400 * 86_400
            page.clock.now += CONTROL_LIFE
            assert await role(phone) == "watch"

    asyncio.run(story())


def test_a_pairing_outlives_the_page_and_only_the_newest_are_kept(page: Page) -> None:
    tokens = [page.door.pair(f"phone {n}") for n in range(PAIRINGS + 1)]
    page.ledger.close()
    again = make_page(page.folder)

    async def roles() -> list[str]:
        found = []
        for token in (tokens[0], tokens[1], tokens[-1]):
            async with again.client(authorization=f"Bearer {token}") as phone:
                found.append(await role(phone))
        return found

    assert asyncio.run(roles()) == ["watch", "control", "control"]
    again.ledger.close()


def test_a_pin_is_void_after_ten_minutes_another_boot_and_a_newer_pin(page: Page) -> None:
    async def story() -> None:
        async with page.client() as phone:
            first = opened(page)
            second = opened(page)
            if first != second:
                assert (await tried(phone, first)).status_code == 401
            page.clock.now += 600
            assert "not open" in (await tried(phone, second)).json()["error"]
            pin = opened(page)
            path = page.folder / FILE
            path.write_text(json.dumps(json.loads(path.read_text()) | {"boot": "another"}))
            assert "not open" in (await tried(phone, pin)).json()["error"]
            path.write_text("no JSON")
            assert "not open" in (await tried(phone, pin)).json()["error"]

    asyncio.run(story())


def test_the_pin_is_six_digits_in_a_file_only_its_owner_reads(page: Page) -> None:
    assert re.fullmatch("[0-9]{6}", opened(page))
    assert stat.S_IMODE((page.folder / FILE).stat().st_mode) == 0o600


def test_a_pairing_cannot_be_opened_in_a_folder_that_is_not_there(page: Page) -> None:
    with pytest.raises(InputError, match="warmdraw pair"):
        open_pairing(page.folder / "gone")


def test_one_address_has_five_tries_in_ten_minutes(page: Page) -> None:
    async def story() -> None:
        pin = opened(page)
        async with page.client() as phone:
            for _ in range(5):
                assert (await tried(phone, wrong(pin))).status_code == 401
            response = await tried(phone, pin)
            assert response.status_code == 429
            assert int(response.headers["retry-after"]) == 600
            page.clock.now += 599
            pin = opened(page)
            assert (await tried(phone, pin)).status_code == 429
            page.clock.now += 1
            assert (await tried(phone, pin)).status_code == 200

    asyncio.run(story())


def test_ten_thousand_guesses_from_fifty_addresses_are_twenty_and_never_hold_up_stop(
    page: Page,
) -> None:
    pin = opened(page)
    verdicts = [page.pins.attempt(wrong(pin), f"192.168.1.{n % 50}") for n in range(10_000)]
    assert sum(verdict.wait is None for verdict in verdicts) == 20

    async def story() -> None:
        async with page.client("192.168.1.200") as phone:
            assert (await tried(phone, pin)).status_code == 429
            page.clock.now += 899
            assert (await tried(phone, opened(page))).status_code == 429
            assert (await phone.post("/api/stop")).status_code == 200
            page.clock.now += 1
            assert (await tried(phone, opened(page))).status_code == 200

    asyncio.run(story())


# At the rig


def test_a_browser_on_the_rig_may_act_but_not_what_a_proxy_there_passes_on(page: Page) -> None:
    async def roles() -> list[str]:
        found = []
        for address, headers in [
            ("127.0.0.1", {}),
            ("::1", {}),
            ("::ffff:127.0.0.1", {}),
            ("127.0.0.1", {"x_forwarded_for": "192.168.1.9"}),
            ("127.0.0.1", {"via": "1.1 box"}),
            ("192.168.1.9", {"x_forwarded_for": "127.0.0.1"}),
        ]:
            async with page.client(address, **headers) as browser:
                found.append(await role(browser))
        return found

    assert asyncio.run(roles()) == ["control"] * 3 + ["watch"] * 3


# From where, by which name, from which page


async def status(page: Page, method: str, path: str, **about: Any) -> int:
    async with page.client(**about) as client:
        content = {"json": {}} if method == "POST" else {}
        response = await client.request(method, path, **content)
    if response.status_code >= 400:
        assert set(response.json()) == {"error"}
        assert response.headers["content-security-policy"].startswith("default-src 'self'")
    return response.status_code


@pytest.mark.parametrize(
    ("address", "expected"),
    [
        ("10.1.2.3", 200),
        ("172.16.0.9", 200),
        ("192.168.0.4", 200),
        ("169.254.7.7", 200),
        ("fe80::1%wlan0", 200),
        ("fd12::9", 200),
        ("::ffff:192.168.1.4", 200),
        ("172.32.0.1", 403),
        ("8.8.8.8", 403),
        ("100.64.0.1", 403),
        ("2001:db8::1", 403),
        ("::ffff:8.8.8.8", 403),
        ("nobody", 403),
    ],
)
@pytest.mark.parametrize("path", ["/api/snapshot", "/api/stop"])
def test_only_the_shop_s_own_network_is_answered(
    page: Page, address: str, expected: int, path: str
) -> None:
    method = "POST" if path == "/api/stop" else "GET"
    assert asyncio.run(status(page, method, path, address=address)) == expected


def test_a_public_address_behind_a_proxy_is_refused(page: Page) -> None:
    about = {"address": "127.0.0.1", "x_forwarded_for": "192.168.1.4, 8.8.8.8"}
    assert asyncio.run(status(page, "GET", "/api/snapshot", **about)) == 403


@pytest.mark.parametrize(
    ("host", "expected"),
    [
        ("rig.local", 200),
        ("RIG.local:8420", 200),
        ("localhost:8420", 200),
        ("[::1]:8420", 200),
        ("evil.example", 400),
        ("rig.local.evil.example", 400),
        ("rig.local.", 400),
        ("rig.local:80@evil", 400),
        ("", 400),
        ("192.168.1.66", 400),
    ],
)
@pytest.mark.parametrize("path", ["/api/snapshot", "/api/stop"])
def test_only_the_rig_s_own_names_are_answered(
    page: Page, host: str, expected: int, path: str
) -> None:
    assert asyncio.run(named(page, host, path)) == expected


@pytest.mark.parametrize("path", ["/api/live", "/", "/assets/page.js", "/api/nothing"])
def test_a_strange_name_is_refused_before_any_route_is_looked_for(page: Page, path: str) -> None:
    assert asyncio.run(named(page, "evil.example", path)) == 400


async def named(page: Page, host: str, path: str) -> int:
    """Asked by a name, on an address: the base URL stands for that."""
    async with page.client(host="192.168.1.2:8420") as client:
        sent = {"host": host, "origin": f"http://{host}"}
        method = "POST" if path == "/api/stop" else "GET"
        return (await client.request(method, path, headers=sent)).status_code


def test_the_address_it_is_asked_on_is_a_good_name(page: Page) -> None:
    assert asyncio.run(status(page, "GET", "/api/snapshot", host="192.168.1.2:8420")) == 200


@pytest.mark.parametrize(
    ("headers", "expected"),
    [
        ({}, 200),
        ({"origin": "-"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "http://rig.local"}, 403),
        ({"origin": "http://rig.local:3000"}, 403),
        ({"x_warmdraw": "-"}, 403),
        ({"x_warmdraw": "0"}, 409),
        ({"content_type": "text/plain"}, 415),
        ({"content_type": "application/x-www-form-urlencoded"}, 415),
        ({"content_type": "application/json; charset=utf-8"}, 200),
    ],
)
def test_another_web_page_cannot_post(page: Page, headers: dict[str, str], expected: int) -> None:
    async def story() -> int:
        sent = {"content_type": "application/json"} | headers
        async with page.client("127.0.0.1", **sent) as client:
            return (await client.post("/api/unpair", content=b"{}")).status_code

    assert asyncio.run(story()) == expected


def test_stop_is_refused_only_to_another_web_page(page: Page) -> None:
    assert asyncio.run(status(page, "POST", "/api/stop", origin="http://evil.example")) == 403
    assert asyncio.run(status(page, "POST", "/api/stop", origin="-")) == 200
    assert page.link.sent[0].by == "unpaired 192.168.1.20"


def test_two_host_headers_are_refused(page: Page) -> None:
    async def story() -> int:
        async with page.client() as client:
            headers = [("host", HOST), ("host", "evil.example")]
            return (await client.get("/api/snapshot", headers=headers)).status_code

    assert asyncio.run(story()) == 400


def test_a_web_socket_is_closed_unheard(page: Page) -> None:
    sent: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message["type"])

    scope = {"type": "websocket", "path": "/api/live", "headers": [], "client": ("8.8.8.8", 1)}
    asyncio.run(page.app(scope, receive, send))
    assert sent == ["websocket.close"]
