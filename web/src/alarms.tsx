/** What is wrong and what to do about it, each with its own acknowledgement. */

import type { AlarmShown, Press } from "./types.ts";
import type { Speaker } from "./units.ts";

const RANK: Record<string, string> = { P1: "Alarm", P2: "Warning", P3: "Note" };
const STATE: Record<string, string> = {
  unacknowledged: "not acknowledged",
  acknowledged: "acknowledged, still so",
  returned: "over by itself, not acknowledged",
  latched: "latched: stays until it is put right",
  shelved: "put aside",
  suppressed: "means nothing in this stage",
};

interface Props {
  speaker: Speaker;
  mayPress: boolean;
  acknowledge: (id: string) => void;
  shelve: (press: Press, id: string) => void;
}

export function Alarms({ speaker, mayPress, acknowledge, shelve }: Props) {
  const { alarms, blind, muted_until: muted } = speaker.snapshot;
  return (
    <section class="alarms" aria-label="Alarms" data-show="alarms" aria-live="assertive" aria-relevant="additions">
      {blind !== null && <p class="alarm p2">{blind}</p>}
      {alarms.map((alarm) => (
        <Alarm key={alarm.id} alarm={alarm} speaker={speaker}>
          {mayPress && alarm.state !== "acknowledged" && (
            <button type="button" class="plain" onClick={() => acknowledge(alarm.id)}>
              ACKNOWLEDGE
            </button>
          )}
          {mayPress && alarm.shelve !== null && (
            <button type="button" class="plain" onClick={() => shelve(alarm.shelve!, alarm.id)}>
              {alarm.shelve.act}
            </button>
          )}
        </Alarm>
      ))}
      {alarms.length > 0 && muted !== null && muted > speaker.snapshot.now && (
        <p class="small">Sounder quiet until {speaker.clock(muted)}.</p>
      )}
    </section>
  );
}

function Alarm(props: { alarm: AlarmShown; speaker: Speaker; children: preact.ComponentChildren }) {
  const { alarm, speaker, children } = props;
  return (
    <article class={`alarm ${alarm.priority.toLowerCase()}`}>
      <p class="rank">
        <b>{RANK[alarm.priority] ?? alarm.priority}</b>{" "}
        <span>
          {speaker.clock(alarm.since)}, {STATE[alarm.state] ?? alarm.state}
          {alarm.shelved_until !== null && ` until ${speaker.clock(alarm.shelved_until)}`}
          {alarm.follows !== null && `, after ${alarm.follows}`}
        </span>
      </p>
      <p class="wrong">{speaker.sentence(alarm.says)}</p>
      <p class="do">{alarm.do}</p>
      {children}
    </article>
  );
}
