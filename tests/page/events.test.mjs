// Events and masks in a browser, against the stand-in station.
import assert from "node:assert/strict";
import { test } from "node:test";
import { overflow, seriousFindings, shownTime, until } from "./support/checks.mjs";
import { asIda, reopen, said, skip, station, tab, text } from "./support/stand_in.mjs";

const shown = () => tab.$$eval(".event", (rows) => rows.map((row) => Number(row.dataset.event)));
const openEvents = async () => {
  await asIda();
  await tab.click("nav >> text=Events");
  await tab.waitForSelector(".event");
};

test("the log shows the newest first, goes on on request, and keeps its place", { skip }, async () => {
  await openEvents();
  const first = await shown();
  assert.equal(first.length, 50);
  assert.deepEqual(first, [...first].sort((a, b) => b - a));
  await tab.click("text=earlier events");
  await until(tab, async () => (await shown()).length === 100, "no earlier events came");
  assert.deepEqual((await shown()).slice(0, 50), first);
  assert.deepEqual(said, []);
});

test("an event that begins is put on top without a reload", { skip }, async () => {
  await openEvents();
  const anvil = station.world.cameras[0];
  const event = { ...station.world.events[0], id: 2000, camera: "anvil", cause: "motion", start: new Date().toISOString(), end: null, still: false };
  station.world.events.unshift(event);
  anvil.status.event = event;
  await until(tab, async () => (await shown())[0] === 2000, "the event that goes on is not shown");
  assert.match(await text('[data-event="2000"]'), /goes on/);
  event.end = new Date().toISOString();
  anvil.status.event = null;
  anvil.status.events_ended += 1;
  await until(tab, async () => !/goes on/.test(await text('[data-event="2000"]')), "its end is not shown");
});

test("filters ask the station, and an empty log says what to do", { skip }, async () => {
  await openEvents();
  await tab.selectOption("label:text-is('Camera') + select", "cog");
  await until(tab, async () => (await shown()).every((id) => station.world.events.find((one) => one.id === id).camera === "cog"), "other cameras are shown");
  await tab.selectOption("label:text-is('Cause') + select", "lighting");
  await until(tab, async () => (await shown()).every((id) => station.world.events.find((one) => one.id === id).cause === "lighting"), "other causes are shown");
  await tab.selectOption("label:text-is('Cause') + select", "motion");
  await tab.fill("label:text-is('At least, % of the picture') + input", "99");
  await tab.waitForSelector("text=No events like this");
});

test("an event is kept and let go, and a viewer cannot", { skip }, async () => {
  await openEvents();
  const id = (await shown())[0];
  const row = `[data-event="${id}"]`;
  await tab.click(`${row} >> text=keep`);
  await tab.waitForSelector(`${row} >> text=let it go`);
  assert.equal(station.world.events.find((one) => one.id === id).kept, true);
  await tab.click(`${row} >> text=let it go`);
  await until(tab, async () => station.world.events.find((one) => one.id === id).kept === false, "it was not let go");
});

test("a click on an event plays its moment", { skip }, async () => {
  await openEvents();
  const event = station.world.events.find((one) => one.camera === "anvil");
  await tab.click(`[data-event="${event.id}"] .event-when`);
  await tab.waitForSelector("[data-read-out]");
  await until(tab, async () => Math.abs((await shownTime(tab)) - Date.parse(event.start)) < 60_000, "another moment is shown");
});

test("a camera's own page shows its events and marks the span of one", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.waitForSelector("#events .event");
  const events = await shown();
  assert.ok(events.every((id) => station.world.events.find((one) => one.id === id).camera === "anvil"));
  // One that is over: what goes on has no span yet.
  const over = events.find((id) => station.world.events.find((one) => one.id === id).end !== null);
  await tab.click(`[data-event="${over}"] >> text=mark span`);
  await until(tab, async () => /\d+ s long/.test(await text("#span")), "no span is marked");
});

test("a camera records around events, with a time before and after", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.click("text=around events");
  await tab.fill("label:text-is('Before an event, s') + input", "45");
  await tab.click("text=save settings");
  await tab.waitForSelector("text=From 0 s to 30 s.");
  await tab.fill("label:text-is('Before an event, s') + input", "8");
  await tab.selectOption("label:text-is('Smallest thing that counts as motion') + select", "4");
  await tab.click("text=save settings");
  await tab.waitForSelector("text=Settings are saved.");
  const anvil = station.world.cameras[0];
  assert.deepEqual([anvil.record, anvil.pre_roll_ms, anvil.sensitivity], ["events", 8000, 4]);
});

const says = () => text("#mask-says");
async function openPainter() {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.click("text=paint a mask");
  await tab.waitForSelector(".painter canvas");
}

test("a mask is painted with the mouse, taken back, saved and shown over the picture", { skip }, async () => {
  await openPainter();
  const canvas = tab.locator(".painter canvas");
  await canvas.scrollIntoViewIfNeeded();
  const box = await canvas.boundingBox();
  const drag = async (from, to) => {
    await tab.mouse.move(box.x + from * box.width, box.y + 0.5 * box.height);
    await tab.mouse.down();
    await tab.mouse.move(box.x + to * box.width, box.y + 0.5 * box.height, { steps: 4 });
    await tab.mouse.up();
  };
  await drag(0.1, 0.9);
  await until(tab, async () => /^[5-9]/.test(await says()), `covers ${await says()}`);
  await drag(0.2, 0.8);
  await tab.click("text=take back");
  await tab.click("text=save the mask");
  await until(tab, async () => station.world.cameras[0].mask !== null, "no mask was saved");
  assert.match(station.world.cameras[0].mask, /^\d+x\d+@\d+x\d+:[\d,]+$/);
  await tab.click("text=show the mask");
  await tab.waitForSelector(".mask-over");
});

test("a mask is painted with keys alone", { skip }, async () => {
  await openPainter();
  await tab.focus(".painter canvas");
  await tab.keyboard.press("]");
  await tab.keyboard.press("Space");
  const once = await says();
  assert.match(once, /[1-9].* of the picture is ignored/);
  await tab.keyboard.press("Shift+ArrowRight");
  await tab.keyboard.press("Space");
  await until(tab, async () => (await says()) !== once, "the second place covers nothing");
  assert.match(await says(), /Column 51 of/);
  await tab.keyboard.press("u");
  await tab.keyboard.press("e");
  await tab.keyboard.press("Shift+ArrowLeft");
  await tab.keyboard.press("Space");
  await until(tab, async () => /^0\.0/.test(await says()), `still covers ${await says()}`);
});

test("nothing painted saves no mask", { skip }, async () => {
  station.world.cameras[0].mask = "2x1@640x480:1,1";
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.waitForSelector("#mask >> text=50");
  await tab.click("text=change the mask");
  await tab.click("text=clear");
  await tab.click("text=save the mask");
  await until(tab, async () => station.world.cameras[0].mask === null, "the mask stayed");
});

for (const width of [1280, 360]) {
  test(`the log and the painter are usable at ${width} px`, { skip }, async () => {
    await reopen({ width });
    await openEvents();
    assert.equal(await overflow(tab), 0);
    assert.deepEqual(await seriousFindings(tab), []);
    await tab.goto(`${station.address}#/camera/anvil`);
    await tab.click("text=paint a mask");
    await tab.waitForSelector(".painter canvas");
    assert.equal(await overflow(tab), 0);
    assert.deepEqual(await seriousFindings(tab), []);
  });
}
