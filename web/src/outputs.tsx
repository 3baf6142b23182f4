/** Lamp and pump: on or off in words, with the reason. */

import type { OutputShown, Snapshot } from "./types.ts";

export function Outputs({ snapshot }: { snapshot: Snapshot }) {
  return (
    <section class="card outputs" aria-label="Lamp and pump">
      <Output name="Lamp" show="lamp" output={snapshot.lamp} />
      <Output name="Pump" show="pump" output={snapshot.pump} />
      {snapshot.zone_locked && (
        <p class="small">Solvent may be in the lamp's zone: the lamp stays locked.</p>
      )}
    </section>
  );
}

function Output({ name, show, output }: { name: string; show: string; output: OutputShown }) {
  if (output.wiring === "absent") return null;
  return (
    <div class="output" data-show={show}>
      <svg viewBox="0 0 20 20" aria-hidden="true" class={output.on ? "on" : "off"}>
        <circle cx="10" cy="10" r="7" />
        {output.word.includes("locked") && <path d="M5 15 L15 5" />}
      </svg>
      <span class="name">{name}</span>
      <b>{output.word}</b>
      <span class="why">
        {output.why}
        {output.wiring === "by hand" && " (switched by hand)"}
      </span>
    </div>
  );
}
