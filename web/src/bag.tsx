/** The bag's vacuum against the hold band and against the most this rig can reach today. */

import { readingFreshness } from "./freshness.ts";
import { Reading } from "./reading.tsx";
import type { Rig } from "./rig.ts";
import { Rule } from "./rule.tsx";
import { depth, type Speaker } from "./units.ts";

const TICKS = {
  inHg: { tick: 1, numbered: 5 },
  kPa: { tick: 5, numbered: 20 },
  mbar: { tick: 50, numbered: 200 },
};

export function BagCard({ speaker, rig }: { speaker: Speaker; rig: Rig }) {
  const { bag, bagging, air_pa: air } = speaker.snapshot;
  if (bagging === null && bag.value === null) return null;
  return (
    <section class="card" aria-labelledby="bag">
      <h2 id="bag">Bag</h2>
      <Reading
        name="Vacuum"
        show="bag"
        shown={bag}
        rig={rig}
        speaker={speaker}
        text={(pa) => speaker.vacuum(Math.min(pa, air))}
      />
      {bagging && <BagRule speaker={speaker} rig={rig} bagging={bagging} />}
      {bagging && <Tightness speaker={speaker} bagging={bagging} />}
    </section>
  );
}

type Bagging = NonNullable<Speaker["snapshot"]["bagging"]>;

function BagRule({ speaker, rig, bagging }: { speaker: Speaker; rig: Rig; bagging: Bagging }) {
  const { bag, air_pa: air } = speaker.snapshot;
  const unit = speaker.units.vacuum;
  const deep = (absolute: number) => depth(air - absolute, unit);
  const places = unit === "mbar" ? 0 : 1;
  const [restart, target] = [deep(bagging.restart_pa), deep(bagging.target_pa)];
  const band = `${restart.toFixed(places)} to ${target.toFixed(places)}`;
  const lost = readingFreshness(bag, rig.silence, rig.gone) === "lost" || bag.value === null;
  return (
    <Rule
      low={0}
      high={depth(101_325, unit)}
      {...TICKS[unit]}
      bands={[{ from: restart, to: target, label: `hold ${band}`, edge: "below" }]}
      beyond={deep(bagging.possible_pa)}
      mark={lost ? null : { at: deep(bag.value ?? air), sure: bag.source !== "estimate" }}
      says={`Hold band ${band} ${unit} vacuum; today's possible ${speaker.vacuum(bagging.possible_pa)}.`}
    />
  );
}

function Tightness({ speaker, bagging }: { speaker: Speaker; bagging: Bagging }) {
  const { rise_pa_s: rise, asked_again_at: again } = bagging;
  return (
    <p class="small" data-show="tightness">
      Possible today {speaker.vacuum(bagging.possible_pa)} (hatched: out of reach). Bag: <b>{bagging.verdict}</b>
      {rise !== null && `, rising ${speaker.say(rise, "pressure_rate")}`}
      {again !== null && `; more to say at ${speaker.clock(again)}`}.
    </p>
  );
}
