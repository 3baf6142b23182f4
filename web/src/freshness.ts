/** How far a number may be believed, from its age. No DOM and no clock in here. */

/** Older than this, a number is greyed and its age is said, [s]. Own; the rig reads once a second. */
export const STALE_S = 10;
/** Older than this, a number is taken away and words stand in its place, [s]. Own. */
export const LOST_S = 30;

export type Freshness = "live" | "stale" | "lost";

/** A reading as the rig sends it: its age is told at the moment of sending. */
export interface Aged {
  value: number | null;
  age_s: number | null;
  source: string;
}

/** Freshness of anything this old, [s]. An age that is not a number is no age: lost. */
export function freshnessOf(age: number): Freshness {
  if (!(age <= LOST_S)) return "lost";
  return age > STALE_S ? "stale" : "live";
}

/**
 * Age of a reading now, [s]; null when nothing can be said of it.
 *
 * silence: seconds since the snapshot that carried it came in. A reading without an age is not
 * shown, except the model's estimate, which is as old as its snapshot.
 */
export function ageNow(shown: Aged, silence: number): number | null {
  const told = shown.age_s ?? (shown.source === "estimate" ? 0 : null);
  return told === null ? null : told + silence;
}

/**
 * Freshness of a reading.
 *
 * A figure read by hand is as old as it is and says so: it greys like the others, and goes only
 * when the rig itself has been silent too long. With control gone nothing is live any more.
 */
export function readingFreshness(shown: Aged, silence: number, gone: boolean): Freshness {
  const age = ageNow(shown, silence);
  if (shown.value === null || shown.source === "lost" || age === null) return "lost";
  const rig = rigFreshness(silence, gone);
  if (rig === "lost") return "lost";
  const own = freshnessOf(age);
  if (own === "lost") return shown.source === "by hand" ? "stale" : "lost";
  return rig === "stale" ? "stale" : own;
}

/** Freshness of the whole snapshot: of the sentence, the outputs' words, the countdowns. */
export function rigFreshness(silence: number, gone: boolean): Freshness {
  const byAge = freshnessOf(silence);
  return gone && byAge === "live" ? "stale" : byAge;
}

/**
 * Seconds since a frame came in, by two clocks of the phone; the longer one counts.
 *
 * The monotonic clock of some phones stands still while they sleep, and the calendar can be set
 * back: either alone could make an old number look new.
 */
export function silenceBetween(
  then: { monotonic: number; calendar: number },
  now: { monotonic: number; calendar: number },
): number {
  return Math.max(now.monotonic - then.monotonic, now.calendar - then.calendar, 0) / 1000;
}
