import assert from "node:assert/strict";
import { test } from "node:test";
import { added, put, removed, standing, type Draft } from "../src/draft.ts";

const draft = (): Draft => ({
  name: "Ash",
  shop: { room: "20 C" },
  pieces: [
    { name: "door", wood: "ash" },
    { name: "sill", wood: "teak" },
  ],
  coats: [{ pieces: ["door", "sill"], bagged: true }, { pieces: ["sill"] }],
});
const namesOf = (of: Draft) => (of.coats as { pieces: string[] }[]).map(({ pieces }) => pieces);

test("a value stands where its key says, rows counted from 1", () => {
  assert.equal(standing(draft(), "name"), "Ash");
  assert.equal(standing(draft(), "shop room"), "20 C");
  assert.equal(standing(draft(), "pieces 2 wood"), "teak");
  assert.equal(standing(draft(), "bag target"), undefined);
  assert.equal(standing(draft(), "pieces 3 wood"), undefined);
});

test("what is put can be read, and the draft before stays as it was", () => {
  const before = draft();
  const after = put(before, "bag target", "20 inHg vacuum");
  assert.equal(standing(after, "bag target"), "20 inHg vacuum");
  assert.equal(standing(put(before, "coats 1 bagged", false), "coats 1 bagged"), false);
  assert.deepEqual(before, draft());
});

test("an emptied blank is left out, and so is the table it leaves empty", () => {
  assert.ok(!("shop" in put(draft(), "shop room", "")));
  assert.ok(!("name" in put(draft(), "name", "")));
  assert.equal((put(draft(), "pieces 1 wood", "").pieces as unknown[]).length, 2);
});

test("a board that is renamed keeps its coats", () => {
  assert.deepEqual(namesOf(put(draft(), "pieces 2 name", "step")), [["door", "step"], ["step"]]);
});

test("a board more is like the last one and has a name of its own", () => {
  const more = added(added(draft(), "pieces", "board"), "pieces", "board");
  assert.deepEqual((more.pieces as { name: string }[]).map(({ name }) => name), ["door", "sill", "board 3", "board 4"]);
  assert.equal(standing(more, "pieces 4 wood"), "teak");
});

test("a coat more is a coat of its own", () => {
  const more = added(draft(), "coats", "coat");
  assert.deepEqual(namesOf(put(more, "coats 3 pieces", ["door"])), [["door", "sill"], ["sill"], ["door"]]);
});

test("a board that goes leaves its coats", () => {
  const less = removed(draft(), "pieces", 2);
  assert.deepEqual(namesOf(less), [["door"], []]);
  assert.equal((less.pieces as unknown[]).length, 1);
});
