/** The whole page, in the order a tired person needs it. */

import { useCallback, useEffect, useState } from "preact/hooks";
import { tell, whoAmI, type Outcome, type Values } from "./acts.ts";
import { Alarms } from "./alarms.tsx";
import { Aside, BatchCard } from "./batch.tsx";
import { BagCard } from "./bag.tsx";
import { BatchSheet } from "./batch_sheet.tsx";
import { DueList } from "./due.tsx";
import { FaceCard } from "./face.tsx";
import { rigFreshness } from "./freshness.ts";
import { More } from "./more.tsx";
import { NextPress } from "./next_press.tsx";
import { Outputs } from "./outputs.tsx";
import { Pairing } from "./pairing.tsx";
import { Phones } from "./phones.tsx";
import { Says } from "./says.tsx";
import { AskSheet, type Asked } from "./ask_sheet.tsx";
import { StopBar } from "./stop_bar.tsx";
import { Simulated } from "./simulated.tsx";
import { Traces } from "./traces.tsx";
import { useRig } from "./rig.ts";
import { rememberedChoice, UnitSwitches } from "./unit_switches.tsx";
import { Speaker } from "./units.ts";
import type { Me, Press } from "./types.ts";

/** How often the page asks whether its pairing still holds, [ms]. */
const PAIRING_MS = 300_000;

/** Stages in which the bag is what a person looks for first. */
const PULLED = new Set(["DRYPULL", "PULLDOWN", "HOLD"]);

export function App() {
  const rig = useRig();
  const [choice, choose] = useState(rememberedChoice);
  const [me, setMe] = useState<Me | null>(null);
  const [asked, ask] = useState<Asked | null>(null);
  const [answer, setAnswer] = useState<string | null>(null);
  const [where, go] = useState(location.hash);

  useEffect(() => {
    const moved = () => {
      go(location.hash);
      scrollTo(0, 0);
    };
    addEventListener("hashchange", moved);
    return () => removeEventListener("hashchange", moved);
  }, []);
  const askWho = useCallback(() => void whoAmI().then((known) => known && setMe(known)), []);
  useEffect(() => {
    askWho();
    const again = setInterval(askWho, PAIRING_MS);
    return () => clearInterval(again);
  }, [askWho]);

  const heard = (outcome: Outcome) => {
    setAnswer(outcome.text);
    if (outcome.status === 401) askWho();
  };

  const { snapshot } = rig;
  const fresh = rigFreshness(rig.silence, rig.gone);
  const speaker = snapshot && new Speaker(snapshot, choice);
  const known = speaker !== null && fresh !== "lost" ? speaker : null;

  const send = (kind: string, of: Asked["of"], values: Values = {}, ago = 0) => {
    if (snapshot === null) return;
    setAnswer(`${kind}: telling the rig.`);
    void tell(kind, of, snapshot, values, ago).then(heard);
  };
  const askFor = (what: Press, of: Asked["of"], more: Values = {}) => {
    // An old answer would stand over the sheet's foot.
    setAnswer(null);
    ask({ press: what, of, more });
  };
  const here = { batch: snapshot?.batch?.id ?? null, stage: snapshot?.stage ?? "" };
  const press = (what: Press, earlier = false) => {
    if (earlier || Object.keys(what.asks).length > 0) askFor(what, here);
    else send(what.act, here);
  };
  const planned = (outcome: Outcome) => {
    heard(outcome);
    if (outcome.done) location.hash = "";
  };
  const onSheet = where === "#sheet";
  const bagFirst = snapshot !== null && PULLED.has(snapshot.stage);
  const mayPress = me?.role !== "watch";

  return (
    <>
      {snapshot?.simulated && <Simulated pace={snapshot.pace} />}
      <main class={onSheet ? "wide" : `rig ${fresh}`} data-show={onSheet ? "sheet-view" : "rig"} data-fresh={fresh}>
        {!onSheet && <Says rig={rig} fresh={fresh} speaker={speaker} />}
        {known && (
          <Alarms
            speaker={known}
            mayPress={mayPress}
            acknowledge={(alarm) => send("ACKNOWLEDGE", here, { alarm })}
            shelve={(what, alarm) => askFor(what, here, { alarm })}
          />
        )}
        {onSheet ? (
          <BatchSheet
            choice={choice}
            mayPress={mayPress}
            snapshot={known?.snapshot ?? null}
            heard={planned}
            says={known ? known.sentence(known.snapshot.sentence) : "No word from the rig."}
          />
        ) : (
          <>
            {known && <NextPress speaker={known} mayPress={mayPress} press={press} />}
            {me?.role === "watch" && <Pairing open={me.pairing_open} paired={askWho} />}
            {known && (
              <>
                {bagFirst && <BagCard speaker={known} rig={rig} />}
                <FaceCard speaker={known} rig={rig} />
                {!bagFirst && <BagCard speaker={known} rig={rig} />}
                <Outputs snapshot={known.snapshot} />
                <Traces speaker={known} />
                <DueList speaker={known} />
                <BatchCard speaker={known} />
                <Aside speaker={known} mayPress={mayPress} weigh={(of, what) => askFor(what, of)} />
                {mayPress && <More others={known.snapshot.others} press={press} />}
              </>
            )}
            {me?.role === "control" && <Phones changed={askWho} />}
            <a class="plain" href="#sheet" data-show="to-sheet">
              Batch sheet: plan a batch
            </a>
          </>
        )}
        <UnitSwitches choice={choice} choose={choose} />
      </main>
      <StopBar
        snapshot={known?.snapshot ?? null}
        answer={answer}
        say={setAnswer}
        away={() => setAnswer(null)}
      />
      {asked && snapshot && (
        <AskSheet
          asked={asked}
          choice={choice}
          airPa={snapshot.air_pa}
          send={(values, ago) => {
            ask(null);
            send(asked.press.act, asked.of, { ...asked.more, ...values }, ago);
          }}
          close={() => ask(null)}
        />
      )}
    </>
  );
}
