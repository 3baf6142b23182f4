/** The sheet that comes up for acts that carry something: masses, reasons, how long ago. */

import { useEffect, useRef } from "preact/hooks";
import type { Values } from "./acts.ts";
import { HoldButton } from "./hold_button.tsx";
import { mayBeLate } from "./next_press.tsx";
import type { Press } from "./types.ts";
import { carried, typedUnit, type Choice } from "./units.ts";

/** A press that waits for its values, what it carries already, and the batch and stage it is said of. */
export interface Asked {
  press: Press;
  of: { batch: string | null; stage: string };
  more: Values;
}

interface Props {
  asked: Asked;
  choice: Choice;
  airPa: number;
  send: (values: Values, ago: number) => void;
  close: () => void;
}

const isNumber = (name: string) => /_(c|g|pa)$/.test(name);
const isConfirmation = (meaning: string) => meaning.startsWith("true: ");

/** "board, sister or coupon" as a list to choose from; null where it is no such list. */
function listed(meaning: string): string[] | null {
  const words = meaning.split(/, | or /);
  return words.length > 2 && words.every((word) => /^[a-z]+$/.test(word)) ? words : null;
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

export function AskSheet({ asked, choice, airPa, send, close }: Props) {
  const { press } = asked;
  const heading = useRef<HTMLHeadingElement>(null);
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => heading.current?.focus(), []);

  const gather = () => {
    if (form.current === null || !form.current.reportValidity()) return;
    const typed = new FormData(form.current);
    const values: Values = {};
    for (const [name, meaning] of Object.entries(press.asks)) {
      const text = String(typed.get(name) ?? "").trim();
      if (isConfirmation(meaning)) values[name] = text !== "";
      else if (text === "") continue;
      else values[name] = isNumber(name) ? carried(name, number(text), choice, airPa) : text;
    }
    send(values, 60 * number(String(typed.get("minutes_ago") || "0")));
  };

  // Not modal: a modal sheet would put STOP out of reach.
  return (
    <>
      <div class="behind" onClick={close} />
      <dialog
        open
        class="sheet"
        data-show="sheet"
        aria-labelledby="asked"
        onKeyDown={(event) => event.key === "Escape" && close()}
      >
        <form
          ref={form}
          onSubmit={(event) => {
            event.preventDefault();
            // Return in a field must not stand for what is to be held down.
            if (!press.hold) gather();
          }}
        >
          <h2 id="asked" ref={heading} tabIndex={-1}>
            {press.act}
          </h2>
          <p>{press.says}</p>
          {Object.entries(press.asks).map(([name, meaning]) => (
            <Field key={name} name={name} meaning={meaning} choice={choice} />
          ))}
          {mayBeLate(press.act) && (
            <label>
              <span>How many minutes ago? Leave empty for now.</span>
              <Figure name="minutes_ago" unit="min" />
            </label>
          )}
          {press.hold ? (
            <HoldButton class="big due" done={gather}>
              <b>{press.act}</b>
            </HoldButton>
          ) : (
            <button type="submit" class="big due">
              <b>{press.act}</b>
            </button>
          )}
          <button type="button" class="plain" onClick={close}>
            Not yet
          </button>
        </form>
      </dialog>
    </>
  );
}

/** People type a comma where they were taught to. */
const number = (text: string) => Number(text.replace(",", "."));

function Figure({ name, unit }: { name: string; unit: string }) {
  return (
    <span class="figure">
      <input name={name} inputMode="decimal" autocomplete="off" pattern="-?[0-9]+([.,][0-9]*)?" title="a number" />
      <i>{unit}</i>
    </span>
  );
}

function Field({ name, meaning, choice }: { name: string; meaning: string; choice: Choice }) {
  if (isConfirmation(meaning)) {
    return (
      <label class="confirm">
        <input type="checkbox" name={name} required />
        <span>{capital(meaning.slice("true: ".length))}</span>
      </label>
    );
  }
  const choices = listed(meaning);
  if (choices) {
    return (
      <label>
        <span>Which</span>
        <select name={name}>
          {choices.map((word) => (
            <option key={word}>{word}</option>
          ))}
        </select>
      </label>
    );
  }
  // The unit in the meaning is the one it is carried in; the person types in their own.
  const plain = capital(meaning.replace(/,? ?\[[^\]]*\]/, "").replace("absolute pressure", "vacuum in the bag"));
  return (
    <label>
      <span>{plain}</span>
      {isNumber(name) ? <Figure name={name} unit={typedUnit(name, choice)} /> : <input name={name} maxLength={500} />}
    </label>
  );
}
