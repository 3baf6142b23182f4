/** STOP, at the bottom of every screen, under the thumb. One touch is enough and it never waits. */

import { useState } from "preact/hooks";
import { stop } from "./acts.ts";
import type { Snapshot } from "./types.ts";

interface Props {
  snapshot: Snapshot | null;
  /** What the rig said to the last press. */
  answer: string | null;
  say: (text: string) => void;
  away: () => void;
}

export function StopBar({ snapshot, answer, say, away }: Props) {
  const [stopping, setStopping] = useState(false);
  const press = () => {
    setStopping(true);
    say("STOP: telling the rig.");
    void stop().then((outcome) => {
      setStopping(false);
      say(outcome.text);
    });
  };
  return (
    <footer class="bar">
      <div role="status" data-show="answer">
        {answer && (
          <p class="answer">
            <span>{answer}</span>
            <button type="button" aria-label="Put this answer away" onClick={away}>
              ×
            </button>
          </p>
        )}
      </div>
      <button type="button" class="stop" data-show="stop" onClick={press}>
        <svg viewBox="0 0 20 20" aria-hidden="true">
          <rect x="3" y="3" width="14" height="14" />
        </svg>
        <b>STOP</b>
        <span>{stopping ? "sent, waiting for the rig" : whatStops(snapshot)}</span>
      </button>
    </footer>
  );
}

function whatStops(snapshot: Snapshot | null): string {
  return snapshot?.pump.wiring === "absent" ? "lamp off, locked" : "lamp and pump off";
}
