/** Listening to the rig: the event stream, and asking by turns where no stream is to be had. */

import type { Frame } from "./types.ts";

/** Between two questions while there is no stream, [ms]. */
const ASK_MS = 2000;
/** Before a refused stream is tried again, [ms]. */
const TRY_AGAIN_MS = 30000;

/** Calls `heard` with each frame until the returned function is called. */
export function listen(heard: (frame: Frame) => void): () => void {
  let over = false;
  let asking: ReturnType<typeof setInterval> | undefined;
  let source: EventSource;

  async function ask(): Promise<void> {
    try {
      const answer = await fetch("api/snapshot", { cache: "no-store" });
      if (answer.ok && !over) heard((await answer.json()) as Frame);
    } catch (error) {
      // No network is no news: the page says so by the age of what it shows.
      if (!(error instanceof TypeError)) throw error;
    }
  }

  function open(): void {
    source = new EventSource("api/live");
    source.onopen = () => clearInterval(asking);
    source.onmessage = (message: MessageEvent<string>) => heard(JSON.parse(message.data) as Frame);
    source.addEventListener("alive", (message: MessageEvent<string>) => {
      const { connected } = JSON.parse(message.data) as Frame;
      if (!connected) heard({ connected, age_s: null, snapshot: null });
    });
    source.onerror = () => {
      // A browser comes back by itself unless the service refused the stream.
      if (source.readyState !== EventSource.CLOSED || over) return;
      clearInterval(asking);
      asking = setInterval(() => void ask(), ASK_MS);
      setTimeout(() => !over && open(), TRY_AGAIN_MS);
    };
  }

  open();
  return () => {
    over = true;
    clearInterval(asking);
    source.close();
  };
}
