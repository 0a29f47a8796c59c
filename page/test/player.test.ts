import assert from "node:assert/strict";
import { test } from "node:test";
import { wishOfKey } from "../src/player/keys";
import { AT_LIVE, caughtUp, drew, faster, heard, reconnected, wish, type PlayerState, type Wish } from "../src/player/state";

const NOW = Date.parse("2026-03-01T12:00:00Z");
const T = NOW - 600_000;

// Carries wishes out one after another; returns the last state and all orders.
function after(wishes: Wish[], start: PlayerState = AT_LIVE) {
  let state = start;
  const orders = [];
  for (const one of wishes) {
    const next = wish(state, one, NOW);
    state = next.state;
    orders.push(...next.orders);
  }
  return { state, orders };
}

test("a moment picked on the strip plays from there", () => {
  const { state, orders } = after([{ do: "seek", at: T, play: true }]);
  assert.equal(state.mode, "playing");
  assert.deepEqual(orders, [{ do: "play", at: new Date(T).toISOString(), speed: 1 }]);
});

test("speed and direction change by playing again from the picture shown", () => {
  const playing = drew(after([{ do: "seek", at: T, play: true }]).state, T + 5_000).state;
  const { state, orders } = after([{ do: "speed", speed: 16 }, { do: "turn", forward: false }], playing);
  const at = new Date(T + 5_000).toISOString();
  assert.deepEqual(orders, [
    { do: "play", at, speed: 16 },
    { do: "play", at, speed: -16 },
  ]);
  assert.equal(state.forward, false);
});

test("a speed chosen while standing is only remembered", () => {
  const playing = drew(after([{ do: "seek", at: T, play: true }]).state, T).state;
  const { orders } = after([{ do: "pause" }, { do: "speed", speed: 2 }, { do: "play" }], playing);
  assert.deepEqual(orders.map((order) => order.do), ["pause", "play"]);
  assert.deepEqual(orders[1], { do: "play", at: new Date(T).toISOString(), speed: 2 });
});

test("a moment picked while standing shows its picture and stands again", () => {
  const picked = after([{ do: "seek", at: T, play: false }]);
  assert.equal(picked.state.mode, "paused");
  assert.deepEqual(picked.orders.map((order) => order.do), ["play"]);
  const drawn = drew(picked.state, T);
  assert.deepEqual(drawn.orders, [{ do: "pause" }]);
  assert.deepEqual(drew(drawn.state, T + 100).orders, []);
});

test("standing before the first picture came shows that picture first", () => {
  const { state, orders } = after([{ do: "seek", at: T, play: true }, { do: "pause" }]);
  assert.equal(state.mode, "paused");
  assert.deepEqual(orders.map((order) => order.do), ["play"]);
  assert.deepEqual(drew(state, T).orders, [{ do: "pause" }]);
});

test("a step while playing stands first; steps before the first picture wait", () => {
  const playing = drew(after([{ do: "seek", at: T, play: true }]).state, T).state;
  assert.deepEqual(after([{ do: "step", frames: -1 }], playing).orders, [{ do: "pause" }, { do: "step", frames: -1 }]);
  const held = after([{ do: "seek", at: T, play: false }]).state;
  assert.deepEqual(after([{ do: "step", frames: 1 }], held).orders, []);
});

test("back to live ends playback, and late pictures change nothing", () => {
  const { state, orders } = after([{ do: "seek", at: T, play: true }, { do: "live" }]);
  assert.deepEqual(orders.at(-1), { do: "stop" });
  assert.equal(drew(state, T).state.at, null);
  assert.equal(heard(state, { is: "end", slot: 1, at: "2026-03-01T12:00:00Z", reason: "end" }).mode, "live");
  assert.deepEqual(after([{ do: "live" }]).orders, []);
});

test("gaps are told, the end stands", () => {
  const playing = after([{ do: "seek", at: T, play: true }]).state;
  const gap = heard(playing, { is: "gap", slot: 1, from: "2026-03-01T11:00:00Z", to: "2026-03-01T11:10:00Z" });
  assert.equal(gap.mode, "playing");
  assert.equal(gap.note?.is, "gap");
  const end = heard(playing, { is: "end", slot: 1, at: "2026-03-01T12:00:00Z", reason: "end" });
  assert.equal(end.mode, "paused");
  assert.deepEqual(end.note, { is: "end", reason: "end" });
});

test("playback that runs into the present goes on live; its end elsewhere stands", () => {
  const end = { is: "end", slot: 1, at: "2026-03-01T12:00:00Z", reason: "end" } as const;
  const near = drew(after([{ do: "seek", at: NOW - 2_000, play: true }]).state, NOW - 1_000).state;
  assert.equal(near.waiting, false);
  assert.ok(caughtUp(near, end, NOW));
  assert.ok(!caughtUp({ ...near, mode: "paused" }, end, NOW));
  assert.ok(!caughtUp({ ...near, at: NOW - 60_000 }, end, NOW));
  assert.ok(!caughtUp(near, { ...end, reason: "nothing recorded" }, NOW));
});

test("after a lost connection playback goes on where it was", () => {
  const playing = drew(after([{ do: "speed", speed: 4 }, { do: "seek", at: T, play: true }]).state, T + 800).state;
  assert.deepEqual(reconnected(playing).orders, [{ do: "play", at: new Date(T + 800).toISOString(), speed: 4 }]);
  assert.deepEqual(reconnected(AT_LIVE).orders, []);
});

test("speeds stop at both ends", () => {
  assert.equal(faster(64, 1), 64);
  assert.equal(faster(0.25, -1), 0.25);
  assert.equal(faster(16, 1), 64);
});

test("keys mean what the page says they mean", () => {
  const standing: PlayerState = { ...AT_LIVE, mode: "paused", at: T };
  const key = (name: string, shift = false, state = standing) => wishOfKey(name, shift, state, NOW);
  assert.deepEqual(key(" "), { do: "play" });
  assert.deepEqual(key(" ", false, { ...standing, mode: "playing" }), { do: "pause" });
  assert.deepEqual(key("ArrowLeft"), { do: "seek", at: T - 10_000, play: false });
  assert.deepEqual(key("ArrowRight", true), { do: "seek", at: T + 60_000, play: false });
  assert.deepEqual(key("ArrowRight", false, { ...standing, at: NOW - 1000 }), { do: "live" });
  assert.deepEqual(key(","), { do: "step", frames: -1 });
  assert.deepEqual(key("."), { do: "step", frames: 1 });
  assert.deepEqual(key("["), { do: "mark", which: "from" });
  assert.equal(key("q"), null);
});
