/** For a phone that only watches: how it may press. */

import { useState } from "preact/hooks";
import { pair } from "./acts.ts";

export function Pairing({ open, paired }: { open: boolean; paired: () => void }) {
  const [said, setSaid] = useState("");
  const send = (event: SubmitEvent) => {
    event.preventDefault();
    const typed = new FormData(event.currentTarget as HTMLFormElement);
    setSaid("Asking the rig.");
    void pair(String(typed.get("pin")), String(typed.get("name")).trim()).then((outcome) => {
      setSaid(outcome.text);
      if (outcome.done) paired();
    });
  };
  return (
    <section class="card" aria-labelledby="pairing" data-show="pairing">
      <h2 id="pairing">This phone only watches</h2>
      <p class="small">
        STOP works from here. To press anything else,{" "}
        {open ? "type the PIN shown at the rig." : "run “warmdraw pair” at the rig and type its PIN."}
      </p>
      <form class="pairing" onSubmit={send}>
        <label>
          <span>PIN</span>
          <input name="pin" inputMode="numeric" autocomplete="one-time-code" pattern="[0-9]{6}" title="six digits" required />
        </label>
        <label>
          <span>Whose phone</span>
          <input name="name" maxLength={40} autocomplete="nickname" />
        </label>
        <button type="submit" class="plain">
          Pair
        </button>
      </form>
      <p class="small" role="status">
        {said}
      </p>
    </section>
  );
}
