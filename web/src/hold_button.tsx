/** A button that must be held down for a second, for what cannot be taken back. */

import { useEffect, useRef, useState } from "preact/hooks";

/** How long, [ms]. */
const HOLD_MS = 1000;

interface Props {
  class?: string;
  done: () => void;
  children: preact.ComponentChildren;
}

export function HoldButton({ class: look = "", done, children }: Props) {
  const [holding, setHolding] = useState(false);
  const [short, setShort] = useState(false);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);
  const touched = useRef(false);

  const begin = () => {
    if (timer.current !== undefined) return;
    setHolding(true);
    setShort(false);
    timer.current = setTimeout(() => {
      timer.current = undefined;
      setHolding(false);
      done();
    }, HOLD_MS);
  };
  const letGo = () => {
    if (timer.current === undefined) return;
    clearTimeout(timer.current);
    timer.current = undefined;
    setHolding(false);
    setShort(true);
  };
  useEffect(() => () => clearTimeout(timer.current), []);

  const pressKey = (event: KeyboardEvent) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    if (event.type === "keyup") letGo();
    else if (!event.repeat) begin();
  };
  return (
    <button
      type="button"
      class={`hold ${holding ? "holding" : ""} ${look}`}
      style={{ "--hold": `${HOLD_MS}ms` }}
      onPointerDown={(event) => {
        touched.current = true;
        if (event.button === 0) begin();
      }}
      onPointerUp={letGo}
      onPointerLeave={letGo}
      onPointerCancel={letGo}
      onKeyDown={pressKey}
      onKeyUp={pressKey}
      onBlur={letGo}
      onContextMenu={(event) => event.preventDefault()}
      onClick={() => {
        // A screen reader clicks without a pointer or a key: it cannot hold.
        if (!touched.current) done();
        touched.current = false;
      }}
    >
      {children}
      <small aria-live="polite">{short ? "too short: hold it for a second" : "hold for a second"}</small>
    </button>
  );
}
