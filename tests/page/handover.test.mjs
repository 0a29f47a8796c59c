// Handing cameras over to other software, in a browser against the stand-in station.
import assert from "node:assert/strict";
import { test } from "node:test";
import { overflow, seriousFindings, signIn } from "./support/checks.mjs";
import { asIda, reopen, said, skip, station, tab, text } from "./support/stand_in.mjs";

test("the hand-over page has each camera's addresses, and tokens that open them", { skip }, async () => {
  await asIda();
  await tab.click("nav >> text=Hand over");
  await tab.waitForSelector('[data-handover="anvil"]');
  assert.match(await text('[data-handover="anvil"]'), /\/live\/anvil\.mjpeg/);
  assert.equal((await tab.$$("[data-handover]")).length, station.world.cameras.length);
  await tab.click('[data-handover="anvil"] >> text=tokens that open them');
  await tab.fill('[data-handover="anvil"] label:text-is("Who or what it is for") + input', "the wall display");
  await tab.click('[data-handover="anvil"] >> button:text-is("make a token")');
  await tab.waitForSelector('[data-handover="anvil"] >> text=Try both addresses');
  assert.deepEqual(await seriousFindings(tab), []);
  assert.equal(await overflow(tab), 0);
});

test("the lines that a machine's software calls stand under each camera, without any token", { skip }, async () => {
  await asIda();
  await tab.click("nav >> text=Hand over");
  await tab.click('[data-handover="cog"] >> text=a machine\'s software tells of its jobs');
  const lines = await text('[data-handover="cog"] pre');
  for (const what of ["started", "step", "finished", "failed"]) assert.match(lines, new RegExp(`Bearer TOKEN.*/api/v1/hooks/cog\\?what=${what}`));
  assert.deepEqual(said, []);
});

test("trying the addresses shows what the other program gets", { skip }, async () => {
  await asIda();
  await tab.click("nav >> text=Hand over");
  await tab.click('[data-handover="cog"] >> text=tokens that open them');
  await tab.fill('[data-handover="cog"] label:text-is("Who or what it is for") + input', "the wall display");
  await tab.click('[data-handover="cog"] >> button:text-is("make a token")');
  await tab.click('[data-handover="cog"] >> text=try both addresses');
  await tab.waitForSelector("text=/Still: image.jpeg, .* in \\d+ ms/");
  await tab.waitForSelector("text=/Stream: \\d+ pictures in /");
});

test("a viewer sees the addresses of their cameras and makes no token", { skip }, async () => {
  await signIn(tab, station.address, "per", "counter-top");
  await tab.waitForSelector(".row");
  await tab.click("nav >> text=Hand over");
  await tab.waitForSelector('[data-handover="counter"]');
  assert.equal(await tab.locator("[data-handover]").count(), 2);
  assert.equal(await tab.locator("text=tokens that open them").count(), 0);
});

test("the hand-over page is usable at 360 px, dark", { skip }, async () => {
  await reopen({ width: 360, scheme: "dark" });
  await asIda();
  await tab.click("nav >> text=Hand over");
  await tab.click('[data-handover="cog"] >> text=a machine\'s software tells of its jobs');
  assert.deepEqual(await seriousFindings(tab), []);
  assert.equal(await overflow(tab), 0);
});
