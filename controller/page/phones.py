"""The phones that may press: how one is paired, which they are, and how one is sent away."""

import logging
from math import ceil

from fastapi import APIRouter, Request, Response
from starlette.exceptions import HTTPException

from controller.page.access import CONTROL_LIFE, COOKIE, Doorkeeper, Who
from controller.page.bodies import Paired, Pairings, PairingTold, PinTold, Unpaired, Whose
from controller.page.pairing import PinDesk

log = logging.getLogger(__name__)


def routes(door: Doorkeeper, pins: PinDesk) -> APIRouter:
    """The routes of pairing."""
    router = APIRouter(prefix="/api")

    @router.post("/pair")
    async def pair(told: PinTold, caller: Who, response: Response) -> Paired:
        verdict = pins.attempt(told.pin, caller.address)
        if not verdict.paired:
            log.warning("pairing refused to %s: %s", caller.address, verdict.says)
            if verdict.wait is not None:
                wait = {"retry-after": f"{ceil(verdict.wait)}"}
                raise HTTPException(429, verdict.says, headers=wait)
            raise HTTPException(401, verdict.says)
        door.unpair(caller)
        token = door.pair(told.name)
        if not told.bearer:
            response.set_cookie(
                COOKIE, token, max_age=int(CONTROL_LIFE), httponly=True, samesite="strict"
            )
        return Paired(
            role="control",
            name=told.name,
            left_s=CONTROL_LIFE,
            token=token if told.bearer else None,
        )

    @router.get("/pairings")
    async def pairings(caller: Who) -> Pairings:
        caller.must_be_paired()
        return Pairings(
            pairings=[
                PairingTold(
                    id=standing.id,
                    name=standing.pairing.name,
                    paired_utc=standing.pairing.paired_utc,
                    left_s=standing.left,
                    mine=standing.pairing.token_hash == caller.token_hash,
                )
                for standing in door.paired()
            ]
        )

    @router.post("/unpair")
    async def unpair(told: Whose, request: Request, response: Response) -> Unpaired:
        caller = door.caller(request)
        ended: tuple[str, ...]
        if told.id is None and told.name is None:
            ended = (caller.token_hash,) if caller.token_hash else ()
            door.unpair(caller)
        else:
            caller.must_be_paired()
            ended = door.revoke(told.id, told.name)
            if not ended:
                raise HTTPException(404, "No such pairing: it has ended already.")
        if caller.token_hash is None or caller.token_hash in ended:
            response.delete_cookie(COOKIE, httponly=True, samesite="strict")
        now = door.caller(request)
        return Unpaired(role="control" if now.may_act else "watch", ended=len(ended))

    return router
