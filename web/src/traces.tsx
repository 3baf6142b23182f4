/** Temperature and vacuum since the work began, with the stages and the gel marked. */

import { useEffect, useRef, useState } from "preact/hooks";
import uPlot from "uplot";
import { stageName } from "./stage_names.ts";
import type { Samples, StageTold, WholeBatch } from "./types.ts";
import { degrees, depth, toldAt, type Speaker } from "./units.ts";

/** How often the service is asked for the trace, [ms]; a simulated rig makes more of it meanwhile. */
const ASK_MS = { real: 15_000, simulated: 3_000 };
const POINTS = 400;
const HEIGHT = 150;
/** In these stages the heat is history and the trace begins with the bag. */
const BAGGED = new Set(["PULLDOWN", "HOLD", "FLASHOFF"]);

interface SoFar {
  samples: Samples;
  stages: StageTold[];
}

function useSoFar(batch: string | null, every: number): SoFar | null {
  const [known, setKnown] = useState<SoFar | null>(null);
  useEffect(() => {
    if (batch === null) return;
    let over = false;
    const ask = async () => {
      const path = `api/batches/${encodeURIComponent(batch)}`;
      try {
        const [samples, whole] = await Promise.all([
          fetch(`${path}/samples?points=${POINTS}`, { cache: "no-store" }),
          fetch(path, { cache: "no-store" }),
        ]);
        if (!samples.ok || !whole.ok) return;
        const { stages } = (await whole.json()) as WholeBatch;
        const soFar = { samples: (await samples.json()) as Samples, stages };
        if (!over) setKnown(soFar);
      } catch (error) {
        // No network: the old trace stays, it is history and dated.
        if (!(error instanceof TypeError)) throw error;
      }
    };
    void ask();
    const again = setInterval(() => void ask(), every);
    return () => {
      over = true;
      clearInterval(again);
    };
  }, [batch, every]);
  return known?.samples.batch === batch ? known : null;
}

interface Line {
  name: string;
  values: (number | null)[];
  dash: number[];
}

export function Traces({ speaker }: { speaker: Speaker }) {
  const { batch, stage, simulated } = speaker.snapshot;
  const soFar = useSoFar(batch?.id ?? null, ASK_MS[simulated ? "simulated" : "real"]);
  if (soFar === null) return null;
  const { columns } = soFar.samples;
  const bagged = soFar.stages.findLast((told) => told.stage === "BAG")?.began_utc ?? 0;
  const from = BAGGED.has(stage) ? bagged : 0;
  const first = Math.max(0, columns.at_utc.findIndex((at) => at >= from));
  if (columns.at_utc.length - first < 2) return null;
  const { temperature, vacuum } = speaker.units;
  const cut = (column: (number | null)[], to: (value: number) => number) =>
    column.slice(first).map((value) => (value === null ? null : to(value)));
  const celsius = (column: (number | null)[]) => cut(column, (value) => degrees(value, temperature));
  const air = columns.air_pa;
  const deep = (column: (number | null)[]) =>
    cut(
      column.map((pa, n) => {
        const about = air[n] ?? null;
        return pa === null || about === null ? null : Math.max(0, about - pa);
      }),
      (pa) => depth(pa, vacuum),
    );
  const marks = {
    at: columns.at_utc.slice(first),
    stages: soFar.stages,
    gel: gelRange(speaker),
    zone: speaker.units.zone,
  };
  return (
    <section class="card" aria-labelledby="traces" data-show="traces">
      <h2 id="traces">So far</h2>
      <Chart
        title={`Temperature, °${temperature}`}
        lines={[
          { name: "face", values: celsius(columns.face_c), dash: [] },
          { name: "mean (estimate)", values: celsius(columns.mean_c), dash: [6, 4] },
          { name: "room", values: celsius(columns.room_c), dash: [2, 4] },
        ]}
        spread={[celsius(columns.face_high_c), celsius(columns.face_low_c)]}
        least={[degrees(15, temperature), degrees(25, temperature)]}
        {...marks}
      />
      <Chart
        title={`Vacuum, ${vacuum}`}
        lines={[{ name: "bag", values: deep(columns.bag_pa), dash: [] }]}
        spread={[deep(columns.bag_low_pa), deep(columns.bag_high_pa)]}
        least={[0, depth(20_000, vacuum)]}
        {...marks}
      />
    </section>
  );
}

function gelRange(speaker: Speaker): [number, number] | null {
  const { gel_early_at: early, gel_late_at: late, gelled } = speaker.snapshot.batch?.setting ?? {};
  if (early == null || late == null || gelled) return null;
  return [toldAt(speaker.snapshot, early), toldAt(speaker.snapshot, late)];
}

interface Chart {
  title: string;
  lines: Line[];
  /** Highest and lowest of the first line in each stretch: what was short stays visible. */
  spread: [(number | null)[], (number | null)[]];
  /** The axis covers at least this, so that a probe's noise does not fill it. */
  least: [number, number];
  at: number[];
  stages: StageTold[];
  gel: [number, number] | null;
  zone: string;
}

function Chart(props: Chart) {
  const { title, lines, spread, least, at, zone } = props;
  const drawn = lines.filter((line) => line.values.some((value) => value !== null));
  const place = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | undefined>(undefined);
  const newest = useRef(props);
  newest.current = props;
  const shape = `${zone} ${least} ${drawn.map((line) => line.name).join()}`;
  const empty = drawn.length === 0;
  const bare = { points: { show: false } };
  const data: uPlot.AlignedData = [at, ...drawn.map((line) => line.values), ...spread];

  useEffect(() => {
    const element = place.current;
    if (element === null) return;
    const made = new uPlot(
      {
        width: element.clientWidth,
        height: HEIGHT,
        legend: { show: false },
        cursor: { show: false },
        padding: [16, null, null, null],
        scales: { y: { range: (_, low, high) => uPlot.rangeNum(Math.min(low, least[0]), Math.max(high, least[1]), 0.1, true) } },
        tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), zone),
        axes: [axis({ space: 64, values: clockTicks(zone), size: 26 }), axis({ space: 36, size: 34 })],
        series: [{}, ...drawn.map(({ name, dash }) => ({ label: name, dash, stroke: ink("--ink"), width: 2, points: { show: false } })), bare, bare],
        bands: [{ series: [drawn.length + 1, drawn.length + 2], fill: ink("--soft") + "66" }],
        hooks: { drawClear: [(u) => drawGel(u, newest.current.gel)], draw: [(u) => drawStages(u, newest.current.stages)] },
      },
      data,
      element,
    );
    plot.current = made;
    const fit = new ResizeObserver(() => made.setSize({ width: element.clientWidth, height: HEIGHT }));
    fit.observe(element);
    return () => {
      fit.disconnect();
      made.destroy();
    };
  }, [shape, empty]);
  useEffect(() => plot.current?.setData(data), [at]);

  if (empty) return null;
  return (
    <figure>
      <figcaption>
        <b>{title}</b>
        {drawn.map((line) => (
          <span key={line.name}>
            <svg viewBox="0 0 28 6" aria-hidden="true">
              <line x1="0" y1="3" x2="28" y2="3" stroke-dasharray={line.dash.join(" ")} />
            </svg>
            {line.name}
          </span>
        ))}
      </figcaption>
      <div ref={place} />
    </figure>
  );
}

function ink(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function axis(own: uPlot.Axis): uPlot.Axis {
  const line = { stroke: ink("--line"), width: 1 };
  return { stroke: ink("--soft"), font: "12px system-ui, sans-serif", grid: line, ticks: { ...line, size: 4 }, ...own };
}

/** The shop's own time of day at the ticks, wherever the phone is. */
function clockTicks(zone: string): (plot: uPlot, seconds: number[]) => string[] {
  const two = (value: number) => String(value).padStart(2, "0");
  return (_, seconds) =>
    seconds.map((at) => {
      const time = uPlot.tzDate(new Date(at * 1000), zone);
      const clock = `${two(time.getHours())}:${two(time.getMinutes())}`;
    return clock === "00:00" ? time.toLocaleDateString("en-GB", { weekday: "short" }) : clock;
    });
}

/** The gel range as a shaded stretch, under the lines. */
function drawGel(plot: uPlot, gel: [number, number] | null): void {
  if (gel === null) return;
  const { left, top, width, height } = plot.bbox;
  const clip = (at: number) => Math.min(left + width, Math.max(left, plot.valToPos(at, "x", true)));
  const [from, to] = [clip(gel[0]), clip(gel[1])];
  if (to <= from) return;
  const { ctx } = plot;
  ctx.save();
  ctx.fillStyle = ink("--band");
  ctx.fillRect(from, top, to - from, height);
  write(plot, "gel", from + 3 * devicePixelRatio, top + height - 4 * devicePixelRatio, to - from);
  ctx.restore();
}

/** A line where each stage began, and its word where there is room before the next. */
function drawStages(plot: uPlot, stages: StageTold[]): void {
  const { left, top, width, height } = plot.bbox;
  const { ctx } = plot;
  const right = left + width;
  const begun = stages.map(({ stage, began_utc: at }) => ({ stage, x: plot.valToPos(at, "x", true) }));
  ctx.save();
  ctx.strokeStyle = ink("--soft");
  ctx.setLineDash([]);
  ctx.lineWidth = devicePixelRatio;
  begun.forEach(({ stage, x }, n) => {
    if (x < left || x > right) return;
    ctx.beginPath();
    ctx.moveTo(x, top);
    ctx.lineTo(x, top + height);
    ctx.stroke();
    const room = Math.min(right, begun[n + 1]?.x ?? right) - x;
    write(plot, stageName(stage), x + 3 * devicePixelRatio, top - 4 * devicePixelRatio, room);
  });
  ctx.restore();
}

/** Writes a word on the chart if it fits into this room, [px of the canvas]. */
function write(plot: uPlot, word: string, x: number, y: number, room: number): void {
  const { ctx } = plot;
  ctx.font = `${11 * devicePixelRatio}px system-ui, sans-serif`;
  ctx.fillStyle = ink("--soft");
  ctx.textAlign = "left";
  ctx.textBaseline = "alphabetic";
  if (ctx.measureText(word).width + 6 * devicePixelRatio <= room) ctx.fillText(word, x, y);
}
