/** Telling the rig: each press has one id, and a press that got lost is sent again under it. */

import type { Draft } from "./draft.ts";
import type { ActTold, Answer, Me, Pairings, PlanTold, SheetAnswer, SheetStart, Snapshot, Trouble } from "./types.ts";

/** Version of the HTTP interface this page speaks. */
const API_VERSION = "1";
/** Waits between tries, [ms]. After the last one the person is told that nobody heard. */
const WAITS_MS = [500, 1000, 2000, 4000];
/** A try that hears nothing for this long is over, [ms]. */
const PATIENCE_MS = 5000;

export type Values = Record<string, string | number | boolean>;

/** What came of a press, in a sentence. */
export interface Outcome {
  done: boolean;
  text: string;
  status: number;
}

/** An id nobody else has. randomUUID is missing on plain http, which is what a shop has. */
function freshId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function post(path: string, body: unknown, signal = AbortSignal.timeout(PATIENCE_MS)): Promise<Response> {
  return fetch(path, {
    method: "POST",
    credentials: "same-origin",
    headers: { "Content-Type": "application/json", "X-Warmdraw": API_VERSION },
    body: JSON.stringify(body),
    signal,
  });
}

const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/** Sends until there is an answer that another try would not change. */
async function insist(path: string, body: unknown, unheard: string): Promise<Outcome> {
  let text = unheard;
  for (const pause of [0, ...WAITS_MS]) {
    if (pause > 0) await wait(pause);
    let response: Response;
    try {
      response = await post(path, body);
    } catch (error) {
      if (error instanceof TypeError || error instanceof DOMException) continue;
      throw error;
    }
    const said = (await response.json().catch(() => ({}))) as Partial<Answer & Trouble>;
    if (response.ok) return { done: said.accepted === true, text: said.text ?? "", status: 200 };
    text = said.error ?? unheard;
    if (response.status < 500) return { done: false, text, status: response.status };
  }
  return { done: false, text, status: 0 };
}

/** Tells the rig that something was done, `ago` seconds ago, to the batch in `of`. */
export function tell(
  kind: string,
  of: { batch: string | null; stage: string },
  snapshot: Snapshot,
  values: Values = {},
  ago = 0,
): Promise<Outcome> {
  const { batch, stage } = of;
  const act: Record<keyof ActTold, unknown> = { id: freshId(), kind, batch, stage, ago_s: ago, values, seen_seq: snapshot.seq };
  return insist("api/acts", act, `${kind} did not get through. Press it again.`);
}

/** Puts a batch sheet on the rig. */
export function plan(description: Draft, { batch, stage, seq }: Snapshot): Promise<Outcome> {
  const act: Record<keyof PlanTold, unknown> = { id: freshId(), description, batch: batch?.id ?? null, stage, seen_seq: seq };
  return insist("api/sheet/plan", act, "The sheet did not get through. Press again.");
}

/** STOP: asks for nothing and waits for nothing. */
export function stop(): Promise<Outcome> {
  const unheard = "STOP did not get through. Pull the lamp's plug and switch the pump off by hand.";
  return insist("api/stop", { id: freshId() }, unheard);
}

/** Pairs this phone. */
export async function pair(pin: string, name: string): Promise<Outcome> {
  const asked = name ? { pin, name } : { pin };
  const unheard = "No answer from the rig. Try again.";
  try {
    const response = await post("api/pair", asked);
    const said = (await response.json().catch(() => ({}))) as Partial<Trouble>;
    const text = response.ok ? "Paired. This phone can press." : (said.error ?? unheard);
    return { done: response.ok, text, status: response.status };
  } catch (error) {
    if (error instanceof TypeError || error instanceof DOMException) {
      return { done: false, text: unheard, status: 0 };
    }
    throw error;
  }
}

/** What stands at an address; null when nobody answers. */
async function look<T>(path: string): Promise<T | null> {
  try {
    const response = await fetch(path, { cache: "no-store", credentials: "same-origin" });
    return response.ok ? ((await response.json()) as T) : null;
  } catch (error) {
    if (error instanceof TypeError) return null;
    throw error;
  }
}

/** What this phone may do; null when nobody answers. */
export const whoAmI = () => look<Me>("api/me");

/** The phones that may press; null when nobody answers. */
export const phones = async () => (await look<Pairings>("api/pairings"))?.pairings ?? null;

/** Ends a phone's pairing. */
export const sendAway = (id: string) => insist("api/unpair", { id }, "");

/** A description to begin a batch sheet with; null when nobody answers. */
export const sheetStart = () => look<SheetStart>("api/sheet/start");

/** What a description comes to; a sentence where it came to nothing. */
export async function reckon(description: Draft, signal: AbortSignal): Promise<SheetAnswer | string> {
  try {
    const response = await post("api/sheet", { description }, signal);
    const said = (await response.json()) as SheetAnswer & Trouble;
    return response.ok ? said : said.error;
  } catch (error) {
    if (error instanceof TypeError || error instanceof DOMException) return "No answer from the rig. Change something to try again.";
    throw error;
  }
}
