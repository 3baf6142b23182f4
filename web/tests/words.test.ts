import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { carried, depth, Speaker, STANDARD, typedUnit } from "../src/units.ts";
import { fill, say, type Figure, type People } from "../src/words.ts";
import type { Snapshot } from "../src/types.ts";

interface Case {
  says: string;
  text: string;
  values: Record<string, Figure>;
  units: People;
  now: number | null;
  expected: string;
}

const FIXTURE = "../tests/fixtures/sentences.json";
const cases = JSON.parse(readFileSync(FIXTURE, "utf8")) as Case[];

test("the fixture the shell is tested with has something in it", () => {
  assert.ok(cases.length > 10);
});

for (const { says, text, values, units, now, expected } of cases) {
  test(`as in the shell: ${says}`, () => {
    assert.equal(fill(text, values, units, now), expected);
  });
}

const people: People = { ...STANDARD, zone: "Europe/Berlin" };

test("a gap without a figure, an unknown kind and no number are refused", () => {
  assert.throws(() => fill("Holding at {bag}.", {}, people), /\{bag\}/);
  assert.throws(() => say(1, "colour", people), /colour/);
  assert.throws(() => say(Number.NaN, "mass", people), /mass/);
});

// Rig second 16200 is told as Tue 17 Nov 2026 03:46:40 UTC.
const snapshot = {
  now: 16200,
  told_utc: 1794887200,
  time_zone: "Europe/Berlin",
  air_pa: 101325,
} as Snapshot;

test("a snapshot's degC and rig time become words in the shop's own time", () => {
  const speaker = new Speaker(snapshot, STANDARD);
  assert.equal(speaker.celsius(24.06), "24.1\u00a0°C");
  assert.equal(speaker.clock(16200), "04:46");
  assert.equal(speaker.clock(16200 - 6 * 3600), "Mon 22:46");
  const opens = snapshot.told_utc + 3600;
  const values = { bag: { kind: "vacuum", value: 74500 }, from: { kind: "clock", value: opens } };
  const text = "Holding at {bag}. May be opened from {from}.";
  assert.equal(
    speaker.sentence({ text, values }),
    "Holding at 22.0\u00a0inHg vacuum. May be opened from 05:46.",
  );
});

test("the same pressure is the same depth whatever it is said in", () => {
  const kilopascals = new Speaker(snapshot, { ...STANDARD, vacuum: "kPa" });
  assert.equal(kilopascals.vacuum(26400), "74.9\u00a0kPa vacuum");
  assert.equal(depth(74925, "mbar"), 749.25);
});

test("what is typed is carried in the unit of the act, whatever it was typed in", () => {
  const american = { ...STANDARD, temperature: "F", mass: "oz" } as const;
  assert.equal(carried("value_c", 95, american, 101325), 35);
  assert.equal(Math.round(carried("used_g", 2, american, 101325) * 10) / 10, 56.7);
  assert.equal(Math.round(carried("value_pa", 22, american, 101325)), 26824);
  assert.equal(carried("value_c", 35, STANDARD, 101325), 35);
  assert.equal(typedUnit("value_pa", american), "inHg vacuum");
  assert.equal(typedUnit("reason", american), "");
});
