/** A joiner's rule laid along a scale: bands marked on it, and a knife mark where the reading is. */

import { useId } from "preact/hooks";

export interface Band {
  from: number;
  to: number;
  label: string;
  /** Which edge of the rule it is pencilled along. */
  edge: "above" | "below";
}

interface Props {
  low: number;
  high: number;
  /** Distance between short ticks, and between ticks with a number. */
  tick: number;
  numbered: number;
  bands: Band[];
  /** From here on the rule is hatched: not to be had today. */
  beyond?: number | undefined;
  /** The reading; `sure` false draws the mark open, for an estimate. */
  mark: { at: number; sure: boolean } | null;
  /** A second, smaller mark under the rule: the board's mean. */
  under?: number | undefined;
  /** The drawing in words. */
  says: string;
}

const WIDTH = 340;
const MARGIN = 16;
const TOP = 34;
const HEIGHT = 30;
const BOTTOM = TOP + HEIGHT;

export function Rule(props: Props) {
  const { low, high, tick, numbered, bands, beyond, mark, under, says } = props;
  const hatch = useId();
  const clip = (value: number) => Math.min(high, Math.max(low, value));
  const x = (value: number) => MARGIN + ((clip(value) - low) / (high - low)) * (WIDTH - 2 * MARGIN);
  const ticks = Array.from({ length: Math.floor((high - low) / tick) + 1 }, (_, n) => low + n * tick);
  return (
    <svg class="rule" viewBox={`0 0 ${WIDTH} 92`} role="img" aria-label={says}>
      <defs>
        <pattern id={hatch} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <line class="hatch" x1="0" y1="0" x2="0" y2="6" />
        </pattern>
      </defs>
      <rect class="body" x={MARGIN} y={TOP} width={WIDTH - 2 * MARGIN} height={HEIGHT} />
      {beyond !== undefined && beyond < high && (
        <rect fill={`url(#${hatch})`} x={x(beyond)} y={TOP} width={x(high) - x(beyond)} height={HEIGHT} />
      )}
      {bands.map((band) => (
        <Pencilled key={band.label} band={band} x={x} />
      ))}
      {ticks.map((value) => {
        const long = Math.abs(value / numbered - Math.round(value / numbered)) < 1e-6;
        return (
          <g key={value}>
            <line class="tick" x1={x(value)} x2={x(value)} y1={TOP} y2={TOP + (long ? 12 : 6)} />
            {long && (
              <text class="figure" x={x(value)} y={BOTTOM - 5}>
                {Math.round(value)}
              </text>
            )}
          </g>
        );
      })}
      {under !== undefined && (
        <path class="under" d={`M${x(under)} ${BOTTOM - 1} l6 9 h-12 z`} />
      )}
      {mark && (
        <g class={mark.sure ? "mark" : "mark open"}>
          <line x1={x(mark.at)} x2={x(mark.at)} y1={TOP - 6} y2={BOTTOM + 3} />
          <path d={`M${x(mark.at)} ${TOP + 4} l-8 -14 h16 z`} />
        </g>
      )}
    </svg>
  );
}

/** A band as a joiner pencils it: a filled stretch, a bracket, and a word beside it. */
function Pencilled({ band, x }: { band: Band; x: (value: number) => number }) {
  const [left, right] = [x(band.from), x(band.to)];
  const above = band.edge === "above";
  const edge = above ? TOP - 3 : BOTTOM + 3;
  const lip = above ? 5 : -5;
  const anchor = left < 70 ? "start" : right > WIDTH - 70 ? "end" : "middle";
  const at = { start: left, end: right, middle: (left + right) / 2 }[anchor];
  return (
    <g class={`band ${band.edge}`}>
      <rect x={left} y={TOP} width={Math.max(2, right - left)} height={HEIGHT} />
      <path d={`M${left} ${edge + lip} V${edge} H${right} V${edge + lip}`} />
      <text x={at} y={above ? TOP - 20 : BOTTOM + 22} text-anchor={anchor}>
        {band.label}
      </text>
    </g>
  );
}
