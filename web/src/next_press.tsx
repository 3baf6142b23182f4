/** The next press, large, with what can hurt directly above it. */

import { HoldButton } from "./hold_button.tsx";
import type { Press } from "./types.ts";
import type { Speaker } from "./units.ts";

/** Acts that tell of something done with busy hands, and so may be told late. */
const TOLD_LATE = new Set([
  "DRY PULL DONE",
  "FLIPPED",
  "MIXED",
  "UNPLUGGED",
  "THINNED",
  "PROBE OFF",
  "COATING",
  "COATED",
  "SEALED",
  "RESEAL",
  "LET UP",
  "OPENED",
  "TIDIED",
  "MOVED OUT",
  "WEIGHED",
  "READING",
]);

export const mayBeLate = (act: string) => TOLD_LATE.has(act);

interface Props {
  speaker: Speaker;
  mayPress: boolean;
  press: (what: Press, earlier?: boolean) => void;
}

export function NextPress({ speaker, mayPress, press }: Props) {
  const { cautions, press: next, others, heat } = speaker.snapshot;
  const present = others.find((other) => other.act === "PRESENT");
  const left = heat?.presence_left_s ?? null;
  return (
    <section class="next" aria-label="Next press">
      {cautions.slice(0, 2).map((caution) => (
        <p class="caution" data-show="caution" key={caution}>
          {caution}
        </p>
      ))}
      {next && !mayPress && (
        <p class="waits">
          The work waits for <b>{next.act}</b>. This phone only watches.
        </p>
      )}
      {next && mayPress && <BigPress key={next.act} next={next} press={press} />}
      {present && mayPress && next?.act !== "PRESENT" && (
        <button type="button" class="present" data-show="present" onClick={() => press(present)}>
          <b>PRESENT</b>
          <span>{present.says}</span>
          {left !== null && <span>Lamp goes off in {speaker.say(left, "duration")} without it.</span>}
        </button>
      )}
    </section>
  );
}

function BigPress({ next, press }: { next: Press; press: Props["press"] }) {
  const asks = Object.keys(next.asks).length > 0;
  const look = next.due ? "big due" : "big";
  const face = (
    <>
      <b>{next.act}</b>
      <span>{next.says}</span>
    </>
  );
  return (
    <div data-show="next">
      {next.hold && !asks ? (
        <HoldButton class={look} done={() => press(next)}>
          {face}
        </HoldButton>
      ) : (
        <button type="button" class={look} onClick={() => press(next)}>
          {face}
          {asks && <small>asks a few things first</small>}
        </button>
      )}
      {mayBeLate(next.act) && !asks && (
        <button type="button" class="earlier" onClick={() => press(next, true)}>
          It was some minutes ago
        </button>
      )}
    </div>
  );
}
