/** From the snapshot's units to figures, and from a person's units back; which units a person chose. */

import type { Sentence, Snapshot } from "./types.ts";
import { fill, PA_PER_INHG, say, ZERO_C, type People } from "./words.ts";

/** The choices a person makes on this phone; the zone is the shop's and comes with the snapshot. */
export type Choice = Omit<People, "zone">;

export const STANDARD: Choice = { temperature: "C", vacuum: "inHg", mass: "g", volume: "mL", length: "mm" };

/** Seconds since 1970 UTC, by the calendar people go by, of a moment in rig time. */
export function toldAt(snapshot: Snapshot, rigTime: number): number {
  return snapshot.told_utc + (rigTime - snapshot.now);
}

/** Keeps a number and its unit on one line: "45 °C" must not break after 45. */
export const together = (text: string) => text.replace(/(\d) (?=[°%a-zA-Z])/g, "$1\u00a0");

/** Everything that puts one snapshot's figures into one person's words. */
export class Speaker {
  readonly units: People;

  constructor(
    readonly snapshot: Snapshot,
    choice: Choice,
  ) {
    this.units = { ...choice, zone: snapshot.time_zone };
  }

  /** A figure of the snapshot's own fields. */
  say(value: number, kind: string): string {
    return together(say(value, kind, this.units, this.snapshot.told_utc));
  }

  /** A temperature the snapshot tells in degC. */
  celsius(value: number): string {
    return this.say(value + ZERO_C, "temperature");
  }

  /** A moment the snapshot tells in rig time. */
  clock(rigTime: number): string {
    return this.say(toldAt(this.snapshot, rigTime), "clock");
  }

  /** A sentence; its figures are in the units words.ts takes. */
  sentence({ text, values }: Sentence): string {
    return together(fill(text, values, this.units, this.snapshot.told_utc));
  }

  /** Depth below today's air of an absolute pressure, said as vacuum. */
  vacuum(absolute: number): string {
    return this.say(this.snapshot.air_pa - absolute, "vacuum");
  }
}

/** A temperature in degC as a bare number of the chosen unit. */
export function degrees(celsius: number, unit: Choice["temperature"]): number {
  return unit === "C" ? celsius : celsius * 1.8 + 32;
}

/** A depth of vacuum in Pa as a bare number of the chosen unit. */
export function depth(pa: number, unit: Choice["vacuum"]): number {
  return unit === "inHg" ? pa / PA_PER_INHG : unit === "kPa" ? pa / 1000 : pa / 100;
}

/** What a person typed, in the unit the act carries it in. `name` ends in that unit. */
export function carried(name: string, typed: number, choice: Choice, airPa: number): number {
  if (name.endsWith("_c")) return choice.temperature === "C" ? typed : (typed - 32) / 1.8;
  if (name.endsWith("_g")) return choice.mass === "g" ? typed : typed * 28.349523125;
  if (name.endsWith("_pa")) {
    const perUnit = { inHg: PA_PER_INHG, kPa: 1000, mbar: 100 }[choice.vacuum];
    return airPa - typed * perUnit;
  }
  return typed;
}

/** The unit a person types such a value in; empty for words. */
export function typedUnit(name: string, choice: Choice): string {
  if (name.endsWith("_c")) return `°${choice.temperature}`;
  if (name.endsWith("_g")) return choice.mass;
  return name.endsWith("_pa") ? `${choice.vacuum} vacuum` : "";
}
