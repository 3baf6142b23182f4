/** What is known of the rig at this moment: the last snapshot, and how long ago it was true. */

import { useEffect, useRef, useState } from "preact/hooks";
import { silenceBetween } from "./freshness.ts";
import { listen } from "./stream.ts";
import { KNOWN_VERSION, type Frame, type Snapshot } from "./types.ts";

export interface Rig {
  snapshot: Snapshot | null;
  /** Seconds since the snapshot was true, or since the page opened where there is none. */
  silence: number;
  /** The service says it has lost the controller. */
  gone: boolean;
  /** The controller speaks a shape this page does not know, even after a reload. */
  foreign: boolean;
}

interface Heard {
  snapshot: Snapshot | null;
  gone: boolean;
  foreign: boolean;
  /** Age the snapshot had when it came in, [s]. */
  age: number;
  at: { monotonic: number; calendar: number };
}

const clocks = () => ({ monotonic: performance.now(), calendar: Date.now() });

/** Reloads once for each version never met before; true when that has been tried. */
function reloadedFor(version: number): boolean {
  const tried = sessionStorage.getItem("reloaded-for") === String(version);
  if (!tried) {
    sessionStorage.setItem("reloaded-for", String(version));
    location.reload();
  }
  return tried;
}

function next(last: Heard, frame: Frame): Heard {
  if (frame.snapshot === null) return { ...last, gone: !frame.connected };
  if (frame.snapshot.version !== KNOWN_VERSION) {
    return { ...last, snapshot: null, foreign: reloadedFor(frame.snapshot.version) };
  }
  const { snapshot, connected, age_s: age } = frame;
  return { snapshot, gone: !connected, foreign: false, age: age ?? 0, at: clocks() };
}

export function useRig(): Rig {
  const heard = useRef<Heard>({
    snapshot: null,
    gone: false,
    foreign: false,
    age: 0,
    at: clocks(),
  });
  const [, redraw] = useState(0);
  useEffect(() => {
    const again = () => redraw((count) => count + 1);
    const deaf = listen((frame) => {
      heard.current = next(heard.current, frame);
      again();
    });
    // Ages grow whether or not anything is heard.
    const ticking = setInterval(again, 1000);
    document.addEventListener("visibilitychange", again);
    return () => {
      deaf();
      clearInterval(ticking);
      document.removeEventListener("visibilitychange", again);
    };
  }, []);
  const { snapshot, gone, foreign, age, at } = heard.current;
  return { snapshot, gone, foreign, silence: age + silenceBetween(at, clocks()) };
}
