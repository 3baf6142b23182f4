/** The batch sheet: what is asked for, what it comes to, and the way onto the rig. */

import { useEffect, useState } from "preact/hooks";
import { plan, reckon, sheetStart, type Outcome } from "./acts.ts";
import { Answers } from "./answers.tsx";
import { Blanks } from "./blanks.tsx";
import type { Draft } from "./draft.ts";
import { HoldButton } from "./hold_button.tsx";
import type { SectionTold, SheetAnswer, Snapshot } from "./types.ts";
import type { Choice } from "./units.ts";

/** A pause in typing this long is the end of it, [ms]. Own. */
const PAUSE_MS = 300;
const KEPT = "sheet-draft";
/** Stages in which another sheet may take the place of the one at the rig. */
const FREE = new Set(["PLANNED", "FINISHED"]);

function remembered(): Draft | null {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "null") as Draft | null;
  } catch {
    // What cannot be read was not written by this page: begin anew.
    return null;
  }
}

/** A link within the view: the address already says which view it is. */
function toAnswers(event: Event): void {
  event.preventDefault();
  document.querySelector(".answers")?.scrollIntoView();
}

interface Props {
  choice: Choice;
  mayPress: boolean;
  /** The rig as it is; null when it cannot be believed. */
  snapshot: Snapshot | null;
  heard: (outcome: Outcome) => void;
  /** What the rig says meanwhile. */
  says: string;
}

export function BatchSheet({ choice, mayPress, snapshot, heard, says }: Props) {
  const [draft, setDraft] = useState(remembered);
  const [told, tell] = useState<SheetAnswer | null>(null);
  const [good, keep] = useState<SectionTold[] | null>(null);
  const [old, age] = useState(true);
  const [trouble, setTrouble] = useState("");

  const begin = () =>
    void sheetStart().then((start) => {
      if (start) setDraft(start.description);
      else setTrouble("No answer from the rig. Try again.");
    });
  const change = (next: Draft) => {
    age(true);
    setDraft(next);
    localStorage.setItem(KEPT, JSON.stringify(next));
  };
  const anew = () => {
    localStorage.removeItem(KEPT);
    begin();
  };

  useEffect(() => {
    if (draft === null) return begin();
    const stale = new AbortController();
    const ask = async () => {
      const said = await reckon(draft, stale.signal);
      if (stale.signal.aborted) return;
      if (typeof said === "string") return setTrouble(said);
      setTrouble("");
      tell(said);
      if (said.sections) keep(said.sections);
      age(said.sections === null);
    };
    const soon = setTimeout(() => void ask(), told ? PAUSE_MS : 0);
    return () => {
      clearTimeout(soon);
      stale.abort();
    };
  }, [draft]);

  const faults = told?.faults ?? [];
  const free = snapshot !== null && (snapshot.batch === null || FREE.has(snapshot.stage));
  const send = () => {
    if (draft && snapshot) void plan(draft, snapshot).then(heard);
  };
  const care = (good ?? []).flatMap(({ lines }) => lines).filter((line) => line.care).length;
  const state =
    trouble ||
    (faults.length > 0
      ? `${faults.length} ${faults.length === 1 ? "fault" : "faults"}: the answers are of the last good sheet.`
      : old
        ? "Reckoning."
        : `${care} ${care === 1 ? "line asks" : "lines ask"} for care.`);
  return (
    <div class="paper" data-show="batch-sheet">
      <div class="top">
        <a class="plain" href="#">
          Back to the rig
        </a>
        <p class="small" data-show="meanwhile">
          {says}
        </p>
        <h1>Batch sheet</h1>
        <p role="status" aria-live="polite" data-show="state">
          {state}
        </p>
        {good && (
          <a class="to-answers" href="#sheet" onClick={toAnswers}>
            To the answers
          </a>
        )}
      </div>
      {told && draft && (
        <div class="form">
          {faults
            .filter(({ key }) => !told.fields.some((field) => field.key === key))
            .map(({ key, says }) => (
              <p class="fault" key={key + says}>
                {key && <b>{key}: </b>}
                {says}
              </p>
            ))}
          <Blanks told={told} draft={draft} change={change} />
          <button type="button" class="earlier" onClick={anew}>
            Begin again from the example
          </button>
        </div>
      )}
      {told && good && (
        <div class={old ? "answers old-news" : "answers"} data-show="answers" data-old={old}>
          <Answers sections={good} units={{ ...choice, zone: told.time_zone }} />
          {mayPress && free && !old && (
            <HoldButton class="big" done={send}>
              <b>PUT ON THE RIG</b>
              <span>This sheet becomes the rig's next batch. Nothing is switched before START.</span>
            </HoldButton>
          )}
          {!(mayPress && free) && (
            <p class="waits">
              {mayPress
                ? "The rig is busy or out of reach: this sheet can be put on it later."
                : "To put this sheet on the rig, pair this phone."}
            </p>
          )}
        </div>
      )}
    </div>
  );
}
