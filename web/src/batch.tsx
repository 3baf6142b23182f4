/** The batch at the rig, how far its resin has come, and the batches that dry elsewhere. */

import type { Asked } from "./ask_sheet.tsx";
import { stageName } from "./stage_names.ts";
import type { BatchShown, Press } from "./types.ts";
import type { Speaker } from "./units.ts";

export function BatchCard({ speaker }: { speaker: Speaker }) {
  const { batch, rig } = speaker.snapshot;
  if (batch === null) return null;
  return (
    <section class="card" aria-labelledby="batch">
      <h2 id="batch">Batch</h2>
      <p>
        <b>{batch.name}</b>, {batch.shop}
      </p>
      <p class="small">
        Coat {batch.coat} of {batch.coats}, face {batch.face}. Pieces: {batch.pieces.join(", ")}. Rig: {rig}.
        {batch.left && ` Stopped in: ${stageName(batch.left)}.`}
        {batch.outcome && ` Outcome: ${batch.outcome}.`}
      </p>
      <Setting batch={batch} speaker={speaker} />
    </section>
  );
}

/** A range of clock times, or null where its early end is not known. */
function range(speaker: Speaker, early: number | null, late: number | null): string | null {
  if (early === null) return null;
  const from = speaker.clock(early);
  return late === null ? from : `${from} to ${speaker.clock(late)}`;
}

/** What the film is by the model, beside what the clocks above it say. */
const CURES: Record<string, string> = {
  gelled: "gelled, still soft",
  "glassy before gel": "hard only from the cold: warmed, it flows again",
  glassy: "hard only from the cold",
};

/** What is over is said without its time: a forecast made backwards would move. */
function Setting({ batch, speaker }: { batch: BatchShown; speaker: Speaker }) {
  const { setting } = batch;
  const bagged = batch.stage !== "FLASHOFF" && batch.stage !== "FINISHED";
  const gel = range(speaker, setting.gel_early_at, setting.gel_late_at);
  const open = range(speaker, setting.open_early_at, setting.open_late_at);
  return (
    <dl class="setting" data-show="setting">
      {gel && (
        <div>
          <dt>{setting.gelled ? "Gelled" : "Gels about"}</dt>
          <dd>{setting.gelled ? "yes" : gel}</dd>
        </div>
      )}
      {open && bagged && (
        <div>
          <dt>{setting.may_open ? "May be opened" : "May be opened about"}</dt>
          <dd>{setting.may_open ? "now" : open}</dd>
        </div>
      )}
      {setting.age_s > 0 && (
        <div>
          <dt>Cure, about</dt>
          <dd>
            {speaker.say(setting.conversion, "percent")} of its bonds, {CURES[setting.cure] ?? setting.cure}
          </dd>
        </div>
      )}
      {setting.flash_share !== null && (
        <div>
          <dt>Flash-off</dt>
          <dd>
            {speaker.say(setting.flash_share, "percent")} of the late end
            {setting.flash_late_at !== null && `, over about ${speaker.clock(setting.flash_late_at)}`}
          </dd>
        </div>
      )}
      {setting.stalled && (
        <div>
          <dt>Too cold</dt>
          <dd>The resin has stopped setting. Warm the room.</dd>
        </div>
      )}
    </dl>
  );
}

const WEIGH_IN: Press = {
  act: "WEIGHED",
  says: "A weigh-in of this batch.",
  asks: { mass_g: "What the scale says, [g]", what: "board, sister or coupon" },
  due: false,
  hold: false,
};

interface AsideProps {
  speaker: Speaker;
  mayPress: boolean;
  weigh: (of: Asked["of"], what: Press) => void;
}

export function Aside({ speaker, mayPress, weigh }: AsideProps) {
  const { aside } = speaker.snapshot;
  if (aside.length === 0) return null;
  return (
    <section class="card" aria-labelledby="aside">
      <h2 id="aside">Moved out</h2>
      {aside.map((batch: BatchShown) => (
        <div key={batch.id}>
          <p>
            <b>{batch.name}</b>: {stageName(batch.stage, batch.form)}
            {batch.place && `, ${batch.place}`}
          </p>
          <Setting batch={batch} speaker={speaker} />
          {mayPress && batch.stage === "FLASHOFF" && (
            <button
              type="button"
              class="plain"
              onClick={() => weigh({ batch: batch.id, stage: batch.stage }, WEIGH_IN)}
            >
              WEIGHED
            </button>
          )}
        </div>
      ))}
    </section>
  );
}
