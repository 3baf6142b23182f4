import assert from "node:assert/strict";
import { test } from "node:test";
import {
  ageNow,
  freshnessOf,
  readingFreshness,
  rigFreshness,
  silenceBetween,
} from "../src/freshness.ts";

const probe = { value: 35.2, age_s: 0.8, source: "probe" };

test("a number is live to 10 s, old to 30 s, and then lost", () => {
  assert.equal(freshnessOf(10), "live");
  assert.equal(freshnessOf(10.1), "stale");
  assert.equal(freshnessOf(30), "stale");
  assert.equal(freshnessOf(30.1), "lost");
  assert.equal(freshnessOf(Number.NaN), "lost");
});

test("the age at sending and the time since count together", () => {
  assert.equal(ageNow({ ...probe, age_s: 6 }, 5), 11);
  assert.equal(readingFreshness({ ...probe, age_s: 6 }, 3, false), "live");
  assert.equal(readingFreshness({ ...probe, age_s: 6 }, 5, false), "stale");
  assert.equal(readingFreshness({ ...probe, age_s: 6 }, 25, false), "lost");
});

test("a probe that has gone quiet is lost although the rig still talks", () => {
  assert.equal(readingFreshness({ ...probe, age_s: 31 }, 0, false), "lost");
  assert.equal(readingFreshness({ ...probe, source: "lost" }, 0, false), "lost");
  assert.equal(readingFreshness({ ...probe, value: null }, 0, false), "lost");
});

test("a reading without an age is not shown, an estimate is as old as its snapshot", () => {
  assert.equal(readingFreshness({ ...probe, age_s: null }, 0, false), "lost");
  const estimate = { value: 30, age_s: null, source: "estimate" };
  assert.equal(readingFreshness(estimate, 0, false), "live");
  assert.equal(readingFreshness(estimate, 12, false), "stale");
  assert.equal(readingFreshness(estimate, 31, false), "lost");
});

test("a figure read by hand greys but stays, until the rig itself is silent", () => {
  const hand = { value: 36, age_s: 300, source: "by hand" };
  assert.equal(readingFreshness(hand, 0, false), "stale");
  assert.equal(readingFreshness(hand, 31, false), "lost");
});

test("with control gone nothing is live", () => {
  assert.equal(readingFreshness(probe, 0, true), "stale");
  assert.equal(rigFreshness(0, true), "stale");
  assert.equal(rigFreshness(0, false), "live");
  assert.equal(rigFreshness(31, true), "lost");
});

test("a phone that slept or had its clock set back does not make news of what is old", () => {
  const then = { monotonic: 1000, calendar: 900_000 };
  assert.equal(silenceBetween(then, { monotonic: 1500, calendar: 960_000 }), 60);
  assert.equal(silenceBetween(then, { monotonic: 21_000, calendar: 0 }), 20);
  assert.equal(silenceBetween(then, then), 0);
});
