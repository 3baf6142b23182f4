/** The phones that may press, folded away; one that is lost or lent is sent away from here. */

import { useState } from "preact/hooks";
import { phones, sendAway } from "./acts.ts";
import { HoldButton } from "./hold_button.tsx";
import type { PairingTold } from "./types.ts";

export function Phones({ changed }: { changed: () => void }) {
  const [list, setList] = useState<PairingTold[]>([]);
  const look = () => void phones().then((known) => known && setList(known));
  return (
    <details class="card more" data-show="phones" onToggle={look}>
      <summary>Phones that may press</summary>
      {list.length === 0 && <p class="small">None is paired.</p>}
      {list.map(({ id, name, mine, left_s: left }) => (
        <HoldButton
          key={id}
          class="open"
          done={() =>
            void sendAway(id).then(() => {
              look();
              changed();
            })
          }
        >
          <b>
            {name ?? "no name"}
            {mine && ", this phone"}
          </b>
          <span>{Math.ceil(left / 3600)} h left. Hold to send it away.</span>
        </HoldButton>
      ))}
    </details>
  );
}
