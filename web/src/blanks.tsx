/** The blanks of a batch sheet, as the service describes them; units are its arithmetic, not ours. */

import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { added, put, removed, standing, type Draft } from "./draft.ts";
import type { FieldTold, GroupTold, SheetAnswer } from "./types.ts";

interface Props {
  told: SheetAnswer;
  draft: Draft;
  change: (next: Draft) => void;
}

export function Blanks(props: Props) {
  const { groups, fields, faults } = props.told;
  return (
    <>
      {groups.map((group, n) => {
        const own = fields.filter((field) => field.group === group.key);
        const wrong = faults.filter(({ key }) => own.some((field) => field.key === key)).length;
        return (
          <Fold key={group.key} group={group} first={n === 0} wrong={wrong}>
            {own.filter(({ key }) => rowOf(key, group) === 0).map((field) => blank(field, props))}
            {group.table && <Rows group={group} own={own} {...props} />}
          </Fold>
        );
      })}
    </>
  );
}

interface FoldProps {
  group: GroupTold;
  first: boolean;
  wrong: number;
  children: ComponentChildren;
}

/** Opens by itself where something is wrong; never folds what a person is writing in. */
function Fold({ group, first, wrong, children }: FoldProps) {
  const fold = useRef<HTMLDetailsElement>(null);
  useEffect(() => {
    if (wrong > 0 && fold.current) fold.current.open = true;
  }, [wrong > 0]);
  return (
    <details ref={fold} class="card more" open={first} data-show={`blanks-${group.key}`}>
      <summary>
        {group.title}
        {wrong > 0 && <b class="mark">{wrong} to put right</b>}
      </summary>
      <div class="blanks">{children}</div>
    </details>
  );
}

/** Number of the row a key belongs to; 0 for none. */
const rowOf = (key: string, { table }: GroupTold) =>
  table && key.startsWith(`${table} `) ? Number(key.split(" ")[1]) : 0;

function Rows(props: Props & { group: GroupTold; own: FieldTold[] }) {
  const { group, own, draft, change } = props;
  const { table, row } = group;
  const count = Math.max(...own.map(({ key }) => rowOf(key, group)), 0);
  return (
    <>
      {Array.from({ length: count }, (_, n) => (
        <fieldset class="rows" key={n}>
          <legend>
            {row} {n + 1}
          </legend>
          {own.filter(({ key }) => rowOf(key, group) === n + 1).map((field) => blank(field, props))}
          {count > 1 && (
            <button type="button" class="earlier" onClick={() => change(removed(draft, table, n + 1))}>
              Take {row} {n + 1} away
            </button>
          )}
        </fieldset>
      ))}
      <button type="button" class="plain" onClick={() => change(added(draft, table, row))}>
        Add a {row}
      </button>
    </>
  );
}

function blank(field: FieldTold, { told, draft, change }: Props) {
  const fault = told.faults.find(({ key }) => key === field.key);
  return (
    <Blank
      key={field.key}
      field={field}
      value={standing(draft, field.key)}
      fault={fault?.says}
      fill={(value) => change(put(draft, field.key, value))}
    />
  );
}

interface BlankProps {
  field: FieldTold;
  value: unknown;
  fault: string | undefined;
  fill: (value: unknown) => void;
}

function Blank({ field, value, fault, fill }: BlankProps) {
  const { key, label, hint, units } = field;
  const id = key.replaceAll(" ", "-");
  const text = value === undefined ? "" : String(value);
  // Known only for what the service has read; it may still be reading the last letter.
  const others = field.text === text ? units.filter((said) => parseFloat(said) !== parseFloat(text)) : [];
  const several = field.kind === "several";
  const name = (
    <>
      {label}
      {hint && <i> {hint}</i>}
    </>
  );
  return (
    <div class={fault ? "blank wrong" : "blank"} role={several ? "group" : undefined} aria-label={several ? label : undefined}>
      {several ? <span>{name}</span> : <label for={id}>{name}</label>}
      <div class="row">
        <Input id={id} field={field} value={value} text={text} fault={fault} fill={fill} />
        {others.map((said) => (
          <button type="button" class="unit" key={said} aria-label={`${label}: write ${said}`} onClick={() => fill(said)}>
            = {said}
          </button>
        ))}
      </div>
      {fault && (
        <p class="fault" id={`${id}-fault`}>
          <b>Put right: </b>
          {fault}
        </p>
      )}
    </div>
  );
}

const PICKERS: Record<string, string> = { moment: "datetime-local", hour: "time" };

function Input({ id, field, value, text, fault, fill }: BlankProps & { id: string; text: string }) {
  const { kind, choices, without } = field;
  const same = { id, "aria-describedby": fault && `${id}-fault`, "aria-invalid": fault !== undefined };
  const typed = (event: Event) => (event.currentTarget as HTMLInputElement).value;
  if (kind === "several") {
    const chosen = Array.isArray(value) ? (value as string[]) : [];
    return (
      <>
        {choices.map((name) => (
          <label key={name} class="confirm">
            <input
              type="checkbox"
              checked={chosen.includes(name)}
              onChange={() => fill(choices.filter((each) => chosen.includes(each) !== (each === name)))}
            />
            <span>{name}</span>
          </label>
        ))}
      </>
    );
  }
  if (kind === "tick") {
    const on = value === undefined ? without === "yes" : value === true;
    return <input type="checkbox" {...same} checked={on} onChange={() => fill(!on)} />;
  }
  if (kind === "choice") {
    const now = text || without;
    return (
      <select {...same} value={now} onChange={(event) => fill(event.currentTarget.value)}>
        {[...new Set([now, ...choices])].map((word) => (
          <option key={word}>{word}</option>
        ))}
      </select>
    );
  }
  if (id.startsWith("pieces") && id.endsWith("name")) {
    // Taken when the blank is left: on the way there it may read like another board's name.
    return <input key={text} {...same} defaultValue={text} onChange={(event) => fill(typed(event))} />;
  }
  const number = kind === "count";
  return (
    <input
      {...same}
      type={(PICKERS[kind] ?? "text") as "text"}
      autocomplete="off"
      inputMode={number ? "numeric" : undefined}
      value={PICKERS[kind] ? text.replace(" ", "T") : text}
      placeholder={without}
      onInput={(event) => {
        const now = typed(event);
        fill(number && /^\d+$/.test(now) ? Number(now) : now);
      }}
    />
  );
}
