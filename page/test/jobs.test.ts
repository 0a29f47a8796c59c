// How jobs go as a form, the map of growth, addresses.
import assert from "node:assert/strict";
import { test } from "node:test";
import { anyGrowth, cellsOf } from "../src/jobs/growth";
import { bedBetween, bedForm, changesOf, formOfSettings, lengthOf, minutesOf, settingsBody, settingsFaults, typed, type SettingsForm } from "../src/jobs/settings_form";
import type { Job, JobNow, JobSettings, JobStep, JobWithSteps } from "../src/jobs/types";
import { goneOn, lastStep } from "../src/jobs/steps";
import { growthText, progressText, share, standingText, stateText, stepText } from "../src/jobs/words";
import { jobLink, readRoute } from "../src/route";

const SETTINGS: JobSettings = {
  by_movement: false,
  still_every_s: 5,
  still_after_s: 600,
  expected_s: null,
  film_s: 30,
  end_after_s: 600,
  bed: { x: 0.1234, y: 0.2, w: 0.5, h: 0.6 },
  tell: ["still", "covered"],
  hours: [{ days: 0b0010001, from_min: 485, length_min: 90 }],
  keep_stills_h: 720,
  stop: { receiver: 0, signs: [], hold_s: 60 },
};
const form = (change: Partial<SettingsForm> = {}): SettingsForm => ({ ...formOfSettings(SETTINGS), ...change });

test("settings come back from the form as they went in, but for a bed finer than the form", () => {
  const body = settingsBody(form());
  assert.deepEqual({ ...body, bed: null }, { ...SETTINGS, bed: null });
  assert.equal(body.bed?.x, 0.123);
  assert.deepEqual(settingsFaults(form()), {});
});

test("only what was changed is sent: rounding is no change", () => {
  const before = settingsBody(form());
  assert.deepEqual(changesOf(before, settingsBody(form())), {});
  assert.deepEqual(changesOf(before, settingsBody(form({ expected_h: "2,5" }))), { expected_s: 9000 });
});

test("hours are days, a time and a length", () => {
  assert.deepEqual(form().hours, [{ days: ["monday", "friday"], from: "08:05", length_h: "1.5" }]);
  const hours = (change: object): (string | null)[] | undefined => settingsFaults(form({ hours: [{ days: ["sunday"], from: "23:59", length_h: "168", ...change }] })).hours;
  assert.equal(hours({}), undefined);
  for (const wrong of [{ days: [] }, { from: "24:00" }, { from: "8" }, { length_h: "0" }, { length_h: "168.1" }, { length_h: "" }]) assert.ok(hours(wrong)?.[0], JSON.stringify(wrong));
  assert.equal(settingsBody(form({ hours: [{ days: ["sunday"], from: "7:30", length_h: "1" }] })).hours[0]?.days, 64);
});

test("each number has its range, and an empty one is only none where there may be none", () => {
  for (const key of ["still_every_s", "still_after_min", "end_after_min", "keep_days"] as const) {
    for (const wrong of ["", "0", "-1", "x", "99999"]) assert.ok(settingsFaults(form({ [key]: wrong }))[key], `${key} ${wrong}`);
  }
  for (const key of ["expected_h", "film_s"] as const) {
    assert.equal(settingsFaults(form({ [key]: "" }))[key], undefined);
    for (const wrong of ["0", "x", "99999"]) assert.ok(settingsFaults(form({ [key]: wrong }))[key], `${key} ${wrong}`);
  }
  assert.equal(settingsBody(form({ film_s: "" })).film_s, null);
});

test("a pause is asked for only with a receiver, a sign and a hold; switched off it asks nobody", () => {
  const on = { pauses: true, receiver: 3, stop_signs: ["still" as const], hold_s: "60" };
  assert.deepEqual(settingsFaults(form(on)), {});
  assert.ok(settingsFaults(form({ ...on, receiver: 0 })).receiver);
  assert.ok(settingsFaults(form({ ...on, stop_signs: [] })).stop_signs);
  assert.ok(settingsFaults(form({ ...on, hold_s: "9" })).hold_s);
  assert.deepEqual(settingsBody(form(on)).stop, { receiver: 3, signs: ["still"], hold_s: 60 });
  assert.equal(settingsBody(form({ ...on, pauses: false })).stop.receiver, 0);
});

test("a bed lies within the picture, however it is drawn or typed", () => {
  for (const [a, b] of [[{ x: 0.8, y: 0.9 }, { x: 0.2, y: 0.1 }], [{ x: -1, y: 0.5 }, { x: 2, y: 3 }], [{ x: 1, y: 1 }, { x: 1, y: 1 }]] as const) {
    const bed = bedBetween(a, b);
    assert.ok(bed.x >= 0 && bed.y >= 0 && bed.w >= 0.02 && bed.h >= 0.02 && bed.x + bed.w <= 1 + 1e-9 && bed.y + bed.h <= 1 + 1e-9, JSON.stringify(bed));
    assert.equal(settingsFaults(form({ bed: bedForm(bed) })).bed, undefined);
  }
  // Rounded to a tenth of a percent on both sides, it may seem to reach beyond the edge.
  const edge = settingsBody(form({ bed: bedForm({ x: 0.33349, y: 0, w: 0.66651, h: 1 }) })).bed;
  assert.ok(edge && edge.x + edge.w <= 1);
  assert.ok(settingsFaults(form({ bed: { x: "60", y: "0", w: "60", h: "50" } })).bed);
  assert.ok(settingsFaults(form({ bed: { x: "", y: "0", w: "60", h: "50" } })).bed);
});

test("numbers are read as people type them", () => {
  assert.equal(typed(" 1,5 "), 1.5);
  for (const wrong of ["", "1e3", "0x10", "-1", "1.2.3", "Infinity"]) assert.ok(Number.isNaN(typed(wrong)), wrong);
  assert.equal(minutesOf("00:00"), 0);
  assert.equal(minutesOf("23:60"), null);
  assert.deepEqual(lengthOf("1,5"), { expected_s: 5400, fault: null });
  assert.deepEqual(lengthOf(" "), { expected_s: null, fault: null });
  for (const wrong of ["a while", "0.001", "745"]) assert.ok(lengthOf(wrong).fault, wrong);
  assert.deepEqual(lengthOf("0.017"), { expected_s: 61, fault: null });
});

test("the map of growth is taken only where it fits together", () => {
  assert.deepEqual([...(cellsOf({ width: 2, height: 1, cells: btoa("\x00\xff") }) ?? [])], [0, 255]);
  assert.equal(cellsOf({ width: 2, height: 2, cells: btoa("ab") }), null);
  assert.equal(cellsOf({ width: 0, height: 0, cells: "" }), null);
  assert.equal(cellsOf({ width: 1, height: 1, cells: "%" }), null);
  assert.ok(anyGrowth({ width: 2, height: 1, cells: btoa("\x00\x01") }));
  assert.ok(!anyGrowth({ width: 2, height: 1, cells: btoa("\x00\x00") }));
});

test("a job has an address; anything else in its place is the list", () => {
  assert.deepEqual(readRoute(jobLink(12)), { is: "job", id: 12 });
  assert.deepEqual(readRoute("#/jobs/x1"), { is: "jobs" });
  assert.deepEqual(readRoute("#/jobs"), { is: "jobs" });
});

const NOW: JobNow = { phase: "resting", moving_share: 0.1, quiet_s: 640, grown_share: 0.031, grown_per_hour: 0.01, standing: ["still"], last_still: "2026-03-01T12:00:00Z", bed: null, growth: null };

test("a job in words", () => {
  assert.equal(stateText(NOW), "at rest for 10 min 40 s");
  assert.equal(stateText({ ...NOW, last_still: null }), "no picture of it has come yet");
  assert.equal(stateText(null), "not looked at yet");
  assert.equal(standingText(NOW), "nothing moves though it should");
  assert.equal(growthText(NOW), "3.1\u00a0% of the picture changed and stayed, 1.0\u00a0% an hour");
  assert.equal(growthText({ ...NOW, grown_share: 0 }), "");
  const job = { start: "2026-03-01T12:00:00Z", end: null, expected_s: 7200 } as Job;
  const at = Date.parse("2026-03-01T13:00:00Z");
  assert.equal(progressText(job, at), "1 h so far, of about 2 h");
  assert.equal(progressText({ ...job, expected_s: null }, at), "1 h so far");
  const over = { ...job, end: "2026-03-01T12:30:00Z" };
  assert.equal(progressText(over, at), "took 30 min, expected were 2 h");
  assert.equal(progressText({ ...over, expected_s: null }, at), "took 30 min");
  assert.equal(share(job, at), 0.5);
  assert.equal(share({ ...job, expected_s: null }, at), null);
  const step = { by: "watch", words: "nothing moves", over: false, sure: false, before: "2026-03-01T12:00:00Z" } as JobStep;
  assert.match(stepText(step), /not sure, have a look/);
  assert.match(stepText({ ...step, over: true }), /^no longer: nothing moves$/);
});

test("the steps of a job go on from those that are known, whichever answer comes first", () => {
  const job = (label: string, ...ids: number[]): JobWithSteps => ({ id: 7, label, start: "2026-03-01T12:00:00.000Z", steps: ids.map((id) => ({ id }) as JobStep) }) as JobWithSteps;
  const ids = (one: JobWithSteps | null): number[] | undefined => one?.steps.map((step) => step.id);
  assert.equal(lastStep(null), 0);
  assert.equal(lastStep(job("a")), 0);
  const first = goneOn(null, job("a", 1, 4), 0);
  assert.deepEqual(ids(first), [1, 4]);
  const second = goneOn(first, job("b", 5), lastStep(first));
  assert.deepEqual(ids(second), [1, 4, 5]);
  assert.equal(second?.label, "b");
  assert.deepEqual(ids(goneOn(second, job("c"), 5)), [1, 4, 5]);
  assert.deepEqual(ids(goneOn(second, job("c", 5, 6), 4)), [1, 4, 5, 6], "both asked for the same");
  assert.deepEqual(ids(goneOn(second, job("c", 1, 2, 3), 0)), [1, 2, 3], "all of them");
});

test("another job in a known one's place is asked for as a whole", () => {
  const job = (id: number, start: string, ...ids: number[]): JobWithSteps => ({ id, start, steps: ids.map((one) => ({ id: one }) as JobStep) }) as JobWithSteps;
  const known = job(7, "2026-03-01T12:00:00.000Z", 1, 4);
  assert.equal(goneOn(known, job(7, "2026-03-02T12:00:00.000Z"), 4), null, "the catalog was lost, and its numbers began anew");
  assert.equal(goneOn(known, job(8, known.start), 4), null);
  assert.equal(goneOn(known, job(7, known.start, 9), 8), null, "there would be a gap");
  assert.equal(goneOn(null, job(7, known.start, 9), 8), null);
});
