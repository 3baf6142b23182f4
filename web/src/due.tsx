/** What is coming, by the calendar. */

import type { Speaker } from "./units.ts";

export function DueList({ speaker }: { speaker: Speaker }) {
  const { due, batch, aside } = speaker.snapshot;
  if (due.length === 0) return null;
  const names = new Map([...aside, ...(batch ? [batch] : [])].map(({ id, name }) => [id, name]));
  const several = names.size > 1;
  return (
    <section class="card" aria-labelledby="due">
      <h2 id="due">Coming</h2>
      <ol class="due" data-show="due">
        {due.map((item) => (
          <li key={`${item.batch} ${item.what}`}>
            <time>
              {speaker.clock(item.at)}
              {item.until !== null && ` to ${speaker.clock(item.until)}`}
            </time>
            <span>
              {item.what}
              {several && <i> {names.get(item.batch) ?? item.batch}</i>}
            </span>
          </li>
        ))}
      </ol>
    </section>
  );
}
