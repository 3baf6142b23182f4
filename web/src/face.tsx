/** The board's face against the two bands: the one the lamp holds, and the one it is coated in. */

import { readingFreshness } from "./freshness.ts";
import { Reading } from "./reading.tsx";
import type { Rig } from "./rig.ts";
import { Rule } from "./rule.tsx";
import { degrees, type Speaker } from "./units.ts";

export function FaceCard({ speaker, rig }: { speaker: Speaker; rig: Rig }) {
  const { face, back, room, film, heat } = speaker.snapshot;
  const temperature = (celsius: number) => speaker.celsius(celsius);
  const expected = heat !== null || face.value !== null;
  const others = [
    { name: "Back", show: "back", shown: back },
    { name: "Room", show: "room", shown: room },
    { name: "Film", show: "film", shown: film },
  ].filter(({ shown }) => shown.value !== null);
  return (
    <section class="card" aria-labelledby="board">
      <h2 id="board">Board</h2>
      {expected && (
        <Reading name="Face" show="face" shown={face} rig={rig} speaker={speaker} text={temperature} />
      )}
      {heat && <HeatRule speaker={speaker} rig={rig} heat={heat} />}
      <div class="row">
        {others.map((other) => (
          <Reading key={other.show} {...other} rig={rig} speaker={speaker} text={temperature} small />
        ))}
      </div>
      {heat && <Soak speaker={speaker} heat={heat} />}
    </section>
  );
}

type Heat = NonNullable<Speaker["snapshot"]["heat"]>;

function HeatRule({ speaker, rig, heat }: { speaker: Speaker; rig: Rig; heat: Heat }) {
  const { face, stage } = speaker.snapshot;
  const unit = speaker.units.temperature;
  const lost = readingFreshness(face, rig.silence, rig.gone) === "lost" || face.value === null;
  const to = (celsius: number) => degrees(celsius, unit);
  const span = (low: number, high: number) => `${Math.round(to(low))} to ${Math.round(to(high))}`;
  const coat = span(heat.window_low_c, heat.window_high_c);
  const preheat = span(heat.band_low_c, heat.band_high_c);
  const heating = stage === "PREHEAT" || stage === "SOAK";
  return (
    <Rule
      low={to(10)}
      high={to(60)}
      tick={unit === "C" ? 2 : 5}
      numbered={unit === "C" ? 10 : 20}
      bands={[
        { from: to(heat.window_low_c), to: to(heat.window_high_c), label: `coat ${coat}`, edge: "below" },
        { from: to(heat.band_low_c), to: to(heat.band_high_c), label: `preheat ${preheat}`, edge: "above" },
      ]}
      mark={lost ? null : { at: to(face.value ?? 0), sure: face.source !== "estimate" }}
      under={heating && heat.mean_c !== null ? to(heat.mean_c) : undefined}
      says={`Coat window ${coat}, preheat band ${preheat} degrees ${unit}.`}
    />
  );
}

function Soak({ speaker, heat }: { speaker: Speaker; heat: Heat }) {
  const { stage } = speaker.snapshot;
  if (heat.mean_c === null || (stage !== "PREHEAT" && stage !== "SOAK")) return null;
  return (
    <p class="small" data-show="soak">
      <svg class="key" viewBox="0 0 12 10" aria-hidden="true">
        <path class="under" d="M6 0 l6 10 h-12 z" />
      </svg>
      Through the board about {speaker.celsius(heat.mean_c)}, wanted{" "}
      {speaker.celsius(heat.target_mean_c)} (estimate)
      {heat.soak_left_s !== null && `; about ${speaker.say(heat.soak_left_s, "duration")} more`}.
    </p>
  );
}
