"""A page is asked for a sheet, as a phone does."""

import asyncio
import copy
from typing import Any

from fake_control import Page

from controller.page.sheets import start_tables

PHONE = "192.168.1.20"


def tables(**changes: Any) -> dict[str, Any]:
    """A good description: the ash washboard's."""
    return copy.deepcopy(start_tables(None)) | changes


async def asked(
    page: Page, path: str, body: Any = None, address: str = PHONE
) -> tuple[int, dict[str, Any]]:
    async with page.client(address) as client:
        call = client.get(path) if body is None else client.post(path, json=body)
        response = await call
    return response.status_code, response.json()


def answer(page: Page, description: dict[str, Any]) -> dict[str, Any]:
    status, said = asyncio.run(asked(page, "/api/sheet", {"description": description}))
    assert status == 200, said
    return said
