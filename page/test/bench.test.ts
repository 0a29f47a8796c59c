// The slider's texts, what is sent, and one question at a time.
import assert from "node:assert/strict";
import { test } from "node:test";
import { faultOf, known, startOf, toSend } from "../src/bench/given";
import { placeOf, readText, scaleOf, textAt, valueAt } from "../src/bench/slider";
import { Sums } from "../src/bench/sums";
import { Problem } from "../src/api";
import type { PlanAnswer, PlanField, PlanSubject } from "../src/bench/types";

const current: PlanField = { key: "current", label: "Current", kind: "current", unit: "A", forms: "", must: true, rare: false, least: "1 mA", least_value: 0.001, most: "30 A", most_value: 30, example: "0.5 A" };
const warm: PlanField = { key: "temperature", label: "Temperature", kind: "temperature", unit: "°C", forms: "", must: false, rare: false, least: "-40 C", least_value: -40, most: "105 C", most_value: 105, preset: "40 C" };
const size: PlanField = { key: "size", label: "Size", kind: "wire-size", unit: "", forms: "", must: true, rare: false, least: "0.005 mm2", least_value: 5e-9, most: "16 mm2", most_value: 16e-6, example: "0.5 mm2" };
const strands: PlanField = { key: "strands", label: "Strands", kind: "choice", unit: "", forms: "", must: true, rare: false, choices: [{ key: "solid", label: "Solid" }] };
const wire: PlanSubject = { key: "wire", title: "Wire", question: "", fields: [current, warm, size, strands] };

test("a text is a number and a unit, with a comma or a point", () => {
  assert.deepEqual(readText("5,2 V"), { number: 5.2, unit: "V" });
  assert.deepEqual(readText("-10 °C"), { number: -10, unit: "°C" });
  assert.equal(readText("AWG 22"), null);
  assert.equal(readText(""), null);
});

test("wide ranges are slid by ratios, narrow ones evenly", () => {
  const wide = scaleOf(current)!;
  assert.ok(wide.log);
  assert.ok(Math.abs(valueAt(placeOf(0.5, wide), wide) - 0.5) < 1e-12);
  const narrow = scaleOf(warm)!;
  assert.ok(!narrow.log);
  assert.equal(placeOf(32.5, narrow), 0.5);
  assert.equal(scaleOf(strands), null);
});

test("the slider writes in the unit that stands there and never beyond the range", () => {
  const scale = scaleOf(current)!;
  assert.equal(textAt(1, current, scale, "500 mA", { text: "200 mA", value: 0.2 }), "30000 mA");
  assert.equal(textAt(0, current, scale, "0.5 A", { text: "0.5 A", value: 0.5 }), "0.001 A");
  assert.equal(textAt(1, current, scale, "", null), "30 A");
  for (let place = 0; place <= 1; place += 0.01) {
    const number = readText(textAt(place, current, scale, "1 mA", { text: "2 mA", value: 0.002 }))!.number;
    assert.ok(number >= 1 && number <= 30000);
  }
});

test("an answer in another unit does not tell what this one is worth", () => {
  // The answer shown is of "2 A"; "50 mA" was typed since, and another field is at fault.
  assert.equal(textAt(1, current, scaleOf(current)!, "50 mA", { text: "2 A", value: 2 }), "30 A");
});

const DAY = 86_400;
const YEAR = 365.25 * DAY;
const kept: PlanField = {
  key: "days", label: "Kept", kind: "duration", unit: "s", forms: "", must: false, rare: false, least: "1 min", least_value: 60, most: "10 years", most_value: 10 * YEAR, preset: "7 days",
  units: [
    { text: "s", factor: 1, shown: "s" },
    { text: "min", factor: 60, shown: "min" },
    { text: "h", factor: 3600, shown: "h" },
    { text: "days", factor: DAY, shown: "days" },
    { text: "d", factor: DAY },
    { text: "years", factor: YEAR, shown: "years" },
  ],
};

test("the slider stays in the unit that is seen while its number can be read", () => {
  const scale = scaleOf(kept)!;
  const at = (seconds: number, text: string, asked: { text: string; value?: number } | null = null) => textAt(placeOf(seconds, scale), kept, scale, text, asked);
  assert.equal(at(30 * DAY, "7 d"), "30 d");
  assert.equal(at(30 * DAY, "2 weeks", { text: "7 days", value: 7 * DAY }), "30 days");
  // Nothing typed and no answer yet: the preset is what is seen.
  assert.equal(at(30 * DAY, ""), "30 days");
  // An answer of another text does not change the unit that was typed since.
  assert.equal(at(2 * 3600, "8 h", { text: "2 years", value: 2 * YEAR }), "2 h");
  // A minute is no 0.000001901 years.
  assert.equal(at(60, "2 years", { text: "2 years", value: 2 * YEAR }), "1 min");
  assert.equal(at(YEAR / 2, "2 years"), "0.5 years");
  assert.equal(at(10 * YEAR, "5 min"), "10 years");
});

test("every place of the slider has a number that is read at a glance", () => {
  const scale = scaleOf(kept)!;
  for (const text of ["10 s", "1 min", "3 h", "7 days", "2 years", ""]) {
    for (let step = 0; step <= 400; step += 1) {
      const written = readText(textAt(step / 400, kept, scale, text, null))!;
      assert.ok(written.number >= 0.001 && written.number <= 99_999, `${written.number} ${written.unit}`);
      // The range's own ends have the digits that they have.
      if (step === 0 || step === 400) continue;
      assert.ok(String(written.number).replace(/^0\.0*|\./g, "").replace(/0+$/, "").length <= 3, String(written.number));
    }
  }
});

test("a unit is known by its signs and in any case", () => {
  const buffer: PlanField = { ...current, key: "c", kind: "capacitance", least: "1 uF", least_value: 1e-6, most: "0.1 F", most_value: 0.1, units: [{ text: "uF", factor: 1e-6, shown: "µF" }, { text: "mF", factor: 1e-3 }, { text: "F", factor: 1 }] };
  const scale = scaleOf(buffer)!;
  assert.equal(textAt(placeOf(1e-3, scale), buffer, scale, "470 µF", null), "1000 µF");
  assert.equal(textAt(placeOf(1e-3, scale), buffer, scale, "470 UF", null), "1000 UF");
  assert.equal(textAt(placeOf(2e-6, scale), buffer, scale, "0.1 F", null), "2 µF");
});

test("a gauge becomes a cross-section when it is slid", () => {
  assert.match(textAt(0.5, size, scaleOf(size)!, "22 AWG", { text: "22 AWG", value: 3.2e-7 }), /^0\.283 mm2$/);
});

test("examples are sent for what must be given, and empty fields are not", () => {
  assert.equal(startOf(strands), "solid");
  assert.deepEqual(toSend(wire, {}), { current: "0.5 A", size: "0.5 mm2", strands: "solid" });
  assert.deepEqual(toSend(wire, { current: " ", temperature: "60 C" }), { temperature: "60 C", size: "0.5 mm2", strands: "solid" });
  assert.deepEqual(known(wire, { current: "1 A", anchor: "x" }), { current: "1 A" });
});

test("a mistake is told at its own field", () => {
  const faults = [{ where: "wire: size", detail: "is missing", remedy: "give it" }];
  assert.equal(faultOf(faults, "wire", "size"), "is missing; give it");
  assert.equal(faultOf(faults, "wire", "current"), null);
});

test("of the questions that wait only the newest is asked", async () => {
  const asked: string[] = [];
  const waiting: ((answer: PlanAnswer) => void)[] = [];
  const got: string[] = [];
  const sums = new Sums(
    (_, given) => {
      asked.push(given.current!);
      return new Promise((done) => waiting.push(done));
    },
    (_, answer) => got.push(answer.headline),
    () => got.push("problem"),
  );
  for (const value of ["1", "2", "3", "4"]) sums.ask("wire", { current: value });
  assert.deepEqual(asked, ["1"]);
  waiting.shift()!({ headline: "one" } as PlanAnswer);
  await new Promise((done) => setImmediate(done));
  assert.deepEqual(asked, ["1", "4"]);
  waiting.shift()!({ headline: "four" } as PlanAnswer);
  await new Promise((done) => setImmediate(done));
  assert.deepEqual(got, ["one", "four"]);
});

test("a refusal is told, and the next question is still asked", async () => {
  const got: string[] = [];
  let fail = true;
  const sums = new Sums(
    async () => {
      if (fail) throw new Problem({ detail: "no" }, 422);
      return { headline: "yes" } as PlanAnswer;
    },
    (_, answer) => got.push(answer.headline),
    (_, problem) => got.push(problem.detail),
  );
  sums.ask("wire", {});
  await new Promise((done) => setImmediate(done));
  fail = false;
  sums.ask("wire", {});
  await new Promise((done) => setImmediate(done));
  assert.deepEqual(got, ["no", "yes"]);
});
