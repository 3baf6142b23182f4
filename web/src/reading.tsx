/** One reading with its age. Greyed and said when it is old; words in its place when it is lost. */

import { ageNow, readingFreshness } from "./freshness.ts";
import type { Rig } from "./rig.ts";
import type { Shown } from "./types.ts";
import type { Speaker } from "./units.ts";

interface Props {
  name: string;
  /** The hook tests find it by. */
  show: string;
  shown: Shown;
  rig: Rig;
  speaker: Speaker;
  text: (value: number) => string;
  small?: boolean;
}

/** The number large and its unit smaller, so that both fit across a phone. */
function figure(text: string) {
  const gap = text.search(/[\s]/);
  return (
    <>
      <b>{text.slice(0, gap)}</b>
      {text.slice(gap)}
    </>
  );
}

const SOURCE: Record<string, string> = { estimate: "estimate, ", "by hand": "by hand, " };

export function Reading({ name, show, shown, rig, speaker, text, small = false }: Props) {
  const fresh = readingFreshness(shown, rig.silence, rig.gone);
  const age = ageNow(shown, rig.silence);
  return (
    <div class={`reading ${small ? "little" : ""} ${fresh}`} data-show={show} data-fresh={fresh}>
      <span class="name">{name}</span>
      {fresh === "lost" || shown.value === null ? (
        <span class="none">no reading</span>
      ) : (
        <>
          <span class="value" data-show="number">
            {figure(text(shown.value))}
          </span>
          <span class="age">
            {SOURCE[shown.source] ?? ""}
            {speaker.say(Math.floor(age ?? 0), "duration")} ago
            {fresh === "stale" && shown.source !== "by hand" && ": old"}
          </span>
        </>
      )}
    </div>
  );
}
