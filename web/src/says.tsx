/** The one sentence: what is happening and what to do. When the rig is silent, that instead. */

import { useEffect, useMemo } from "preact/hooks";
import type { Freshness } from "./freshness.ts";
import type { Rig } from "./rig.ts";
import { stageName } from "./stage_names.ts";
import type { Speaker } from "./units.ts";

interface Props {
  rig: Rig;
  fresh: Freshness;
  speaker: Speaker | null;
}

/** What to say when there is no word from the rig that can be believed. */
function silent({ rig, speaker }: Props): string {
  if (rig.foreign) {
    return "The controller was changed and this page does not understand it. Look at the rig; then close this page and open it again.";
  }
  if (speaker === null) return "No word from the rig yet. Look at the rig.";
  const { snapshot } = speaker;
  const lamp =
    snapshot.lamp.wiring === "absent"
      ? ""
      : snapshot.lamp.on
        ? " The lamp was on then and may still be on."
        : " The lamp was off then.";
  return `No word from the rig since ${speaker.clock(snapshot.now)}.${lamp} Look at the rig.`;
}

/**
 * The sentence for those who listen: said again when it says something else, not at each new figure.
 */
function Aloud({ pattern, words }: { pattern: string; words: string }) {
  const said = useMemo(() => words, [pattern]);
  return (
    <p class="aloud" data-show="aloud" aria-live="assertive">
      {said}
    </p>
  );
}

export function Says(props: Props) {
  const { rig, fresh, speaker } = props;
  const lost = speaker === null || fresh === "lost";
  const waiting = speaker === null && !rig.foreign && rig.silence < 10;
  const words = waiting
    ? "Listening for the rig."
    : lost
      ? silent(props)
      : speaker.sentence(speaker.snapshot.sentence);
  const pattern = lost ? words : speaker.snapshot.sentence.text;
  return (
    <>
      <Aloud pattern={pattern} words={words} />
      {lost ? (
        <h1 class="says" data-show="sentence">
          {words}
        </h1>
      ) : (
        <Head rig={rig} fresh={fresh} speaker={speaker} words={words} />
      )}
    </>
  );
}

function Head(props: { rig: Rig; fresh: Freshness; speaker: Speaker; words: string }) {
  const { rig, fresh, speaker, words } = props;
  const { snapshot } = speaker;
  const { batch, stage, heat } = snapshot;
  const coatNow = fresh === "live" && (heat?.coat_now ?? false);

  useEffect(() => {
    // A browser lets a page shake the phone only after it was touched.
    if (coatNow && navigator.userActivation?.hasBeenActive) navigator.vibrate?.([300, 150, 300, 150, 600]);
  }, [coatNow]);

  return (
    <section class={coatNow ? "head coat-now" : "head"}>
      <p class="where" data-show="stage">
        <b>{stageName(stage, batch?.form)}</b>
        {batch && ` since ${speaker.clock(batch.since)}`}
      </p>
      {coatNow && (
        <p class="shout" data-show="coat-now" role="status">
          COAT NOW
        </p>
      )}
      <h1 class="says" data-show="sentence">
        {words}
      </h1>
      {coatNow && heat && <CoatClocks speaker={speaker} shuts={heat.shuts_s} draw={heat.draw_left} />}
      {fresh === "stale" && (
        <p class="old" data-show="stale">
          {/* The seconds stay outside: nobody wants them read out one by one. */}
          <span role="status">Old news.{rig.gone && " The controller does not answer."}</span> Last
          word from the rig {speaker.say(Math.floor(rig.silence), "duration")} ago.
        </p>
      )}
    </section>
  );
}

/** The two clocks after lamp-off: how long it stays thin, and how much draw is still to come. */
function CoatClocks(props: { speaker: Speaker; shuts: number | null; draw: number | null }) {
  const { speaker, shuts, draw } = props;
  return (
    <dl class="clocks">
      {shuts !== null && (
        <div>
          <dt>stays thin</dt>
          <dd data-show="shuts">{speaker.say(shuts, "duration")}</dd>
        </div>
      )}
      {draw !== null && (
        <div>
          <dt>draw to come</dt>
          <dd data-show="draw">{speaker.say(draw, "percent")}</dd>
        </div>
      )}
    </dl>
  );
}
