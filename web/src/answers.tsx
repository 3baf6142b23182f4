/** What a batch sheet tells, question by question, as the service worded it. */

import type { LineTold, SectionTold } from "./types.ts";
import { together } from "./units.ts";
import { fill, say, type People } from "./words.ts";

/** Room for everything at once: below it, what is neither the verdict nor a warning is folded away. */
const WIDE = matchMedia("(min-width: 60rem)").matches;

export function Answers({ sections, units }: { sections: SectionTold[]; units: People }) {
  return (
    <>
      {sections.map(({ key, title, question, lines }) => {
        const first = lines.filter((line, n) => n === 0 || line.care);
        const rest = lines.filter((line) => !first.includes(line));
        return (
          <section class="card told" key={key} data-show={key}>
            <h2>{title}</h2>
            <p class="small">{question}</p>
            <Lines lines={first} units={units} />
            {rest.length > 0 && (
              <details class="more" open={WIDE}>
                <summary>{rest.length} more</summary>
                <Lines lines={rest} units={units} />
              </details>
            )}
            <Sources lines={lines} units={units} />
          </section>
        );
      })}
    </>
  );
}

function Lines({ lines, units }: { lines: LineTold[]; units: People }) {
  return (
    <dl>
      {lines.map((line) => (
        <div key={line.key} class={line.care ? "care" : ""}>
          <dt>{line.label}</dt>
          <dd>
            {line.care && <b>CARE </b>}
            {together(fill(line.text, line.figures, units))}
          </dd>
        </div>
      ))}
    </dl>
  );
}

/** Each source once, with the figures that stand on it: a resin's row alone is a paragraph. */
function Sources({ lines, units }: { lines: LineTold[]; units: People }) {
  const told = new Map<string, Set<string>>();
  for (const { label, figures } of lines) {
    for (const { value, kind, source } of Object.values(figures)) {
      const said = `${label} ${together(say(value, kind, units))}`;
      told.set(source, (told.get(source) ?? new Set()).add(said));
    }
  }
  if (told.size === 0) return null;
  return (
    <details class="more small">
      <summary>Sources</summary>
      {[...told].map(([source, figures]) => (
        <p key={source}>
          <b>{[...figures].join(", ")}</b>: {source}
        </p>
      ))}
    </details>
  );
}
