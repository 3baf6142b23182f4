/** A batch description on its way to being good, as the service takes it. No DOM in here. */

/** Tables, rows and values by their keys. */
export type Draft = { [key: string]: unknown };
type Holder = Record<string | number, unknown>;

/** Where a value stands: "pieces 1 thickness", counted as people count. */
const path = (key: string) => key.split(" ").map((part) => (/^\d+$/.test(part) ? Number(part) - 1 : part));

/** What stands there; undefined where nothing does. */
export function standing(draft: Draft, key: string): unknown {
  return path(key).reduce<unknown>((holder, part) => (holder as Holder | undefined)?.[part], draft);
}

const rows = (draft: Draft, table: string) => (draft[table] ?? []) as Holder[];

/** The draft with the names of its boards in its coats put through `to`; null takes a name out. */
function renamed(draft: Draft, to: (name: unknown) => unknown): void {
  for (const coat of rows(draft, "coats")) {
    coat.pieces = ((coat.pieces ?? []) as unknown[]).map(to).filter((name) => name !== null);
  }
}

/** The draft with this value there; an empty one is left out, and so is the table it leaves empty. */
export function put(draft: Draft, key: string, value: unknown): Draft {
  const next = structuredClone(draft);
  const parts = path(key);
  const last = parts.pop() ?? "";
  let holder: Holder = next;
  for (const part of parts) holder = (holder[part] ??= {}) as Holder;
  if (parts[0] === "pieces" && last === "name") {
    const before = holder[last];
    renamed(next, (name) => (name === before ? value : name));
  }
  if (value !== "") holder[last] = value;
  else delete holder[last];
  if (parts.length === 1 && Object.keys(holder).length === 0) delete next[String(parts[0])];
  return next;
}

/** The draft with one more row, like the last one; a board gets a name of its own. */
export function added(draft: Draft, table: string, word: string): Draft {
  const next = structuredClone(draft);
  const row: Holder = { ...structuredClone(rows(next, table).at(-1)) };
  if (table === "pieces") {
    const taken = new Set(rows(next, table).map(({ name }) => name));
    let number = taken.size + 1;
    while (taken.has(`${word} ${number}`)) number += 1;
    row.name = `${word} ${number}`;
  }
  next[table] = [...rows(next, table), row];
  return next;
}

/** The draft without this row, counted from 1; a board that goes leaves its coats. */
export function removed(draft: Draft, table: string, number: number): Draft {
  const next = structuredClone(draft);
  const [gone] = rows(next, table).splice(number - 1, 1);
  if (table === "pieces") renamed(next, (name) => (name === gone?.name ? null : name));
  return next;
}
