/** The acts that are open but not due, folded away. */

import { HoldButton } from "./hold_button.tsx";
import type { Press } from "./types.ts";

/** These have places of their own on the page. */
const ELSEWHERE = new Set(["STOP", "ACKNOWLEDGE", "PRESENT", "PLAN"]);

export function More({ others, press }: { others: Press[]; press: (what: Press) => void }) {
  const here = others.filter((other) => !ELSEWHERE.has(other.act));
  if (here.length === 0) return null;
  return (
    <details class="card more" data-show="more">
      <summary>More to tell</summary>
      {here.map((other) => {
        const face = (
          <>
            <b>{other.act}</b>
            <span>{other.says}</span>
          </>
        );
        const asks = Object.keys(other.asks).length > 0;
        return other.hold && !asks ? (
          <HoldButton key={other.act} class="open" done={() => press(other)}>
            {face}
          </HoldButton>
        ) : (
          <button key={other.act} type="button" class="open" onClick={() => press(other)}>
            {face}
          </button>
        );
      })}
    </details>
  );
}
