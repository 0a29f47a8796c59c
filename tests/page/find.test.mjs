// Finding boards in a browser, against the stand-in station.
import assert from "node:assert/strict";
import { test } from "node:test";
import { overflow, seriousFindings, until } from "./support/checks.mjs";
import { asIda, said, skip, station, tab, text } from "./support/stand_in.mjs";

const openFind = async () => {
  await asIda();
  await tab.click("nav >> text=Find");
  await tab.waitForSelector(".found-list li");
};
const row = (name) => tab.locator(".found-list li", { has: tab.locator(`h2:text-is("${name}")`) });

test("what was found is told with address, port, maker part and what it answers", { skip }, async () => {
  await openFind();
  assert.match(await row("lathe").textContent(), /192\.0\.2\.41, 2001:db8::41, port 80 · lathe\.local/);
  assert.match(await row("lathe").textContent(), /maker part 00:00:5e/);
  assert.match(await row("lathe").textContent(), /still, stream/);
  assert.match(await text("[role=status].figures"), /5 found, 2 new cameras\./);
  assert.deepEqual(said, []);
});

test("a camera that is known links to its page and is not to be added again", { skip }, async () => {
  await openFind();
  assert.equal(await row("anvil").locator("a.button").count(), 0);
  assert.match(await row("bobbin").textContent(), /bobbin is at a new address, known by its hardware address/);
  assert.equal(await row("anvil").locator("a").getAttribute("href"), "#/camera/anvil");
});

test("two boards of one name are said to be two", { skip }, async () => {
  await openFind();
  assert.match(await tab.locator('[data-found$=":42"]').textContent(), /Two boards claim this name/);
});

test("add fills the form, and what is no camera cannot be added", { skip }, async () => {
  await openFind();
  assert.equal(await row("counter display").locator("a.button").count(), 0);
  await row("lathe").locator("a.button").focus();
  await tab.keyboard.press("Enter");
  await tab.waitForSelector("text=add this camera");
  assert.equal(await tab.inputValue("label:text-is('Name') + input"), "lathe");
  assert.equal(await tab.inputValue("label:text-is('Stream address') + input"), "http://192.0.2.41:81/stream");
  await tab.click("text=add this camera");
  await until(tab, async () => station.world.cameras.some((one) => one.name === "lathe"), "the camera was not added");
  station.world.cameras = station.world.cameras.filter((one) => one.name !== "lathe");
});

test("one with stills alone is added as such", { skip }, async () => {
  await openFind();
  await tab.locator('[data-found$=":42"] >> a.button').click();
  await tab.waitForSelector("text=add this camera");
  assert.equal(await tab.inputValue("label:text-is('Name') + input"), "bench");
  assert.equal(await tab.inputValue("label:text-is('Still address') + input"), "http://192.0.2.42:80/still");
});

test("a sweep says what it will do before it is asked for", { skip }, async () => {
  await openFind();
  assert.match(await text("main"), /A sweep knocks at 253 addresses/);
  await tab.click("text=knock at each address");
  await until(tab, async () => /knocking/.test(await text("main")), "no word of the sweep");
  station.world.found.sweeping = false;
});

test("where nothing is found it says what to check", { skip }, async () => {
  await asIda();
  const held = station.world.found.found;
  station.world.found.found = [];
  await tab.click("nav >> text=Find");
  await until(tab, async () => /Does the access point pass multicast/.test(await text("main")), "nothing to check");
  station.world.found.found = held;
});

test("on a narrow screen nothing has to be scrolled sideways, and all can read it", { skip }, async () => {
  await openFind();
  const size = tab.viewportSize();
  await tab.setViewportSize({ width: 360, height: 740 });
  assert.equal(await overflow(tab), 0);
  assert.deepEqual(await seriousFindings(tab), []);
  await tab.setViewportSize(size);
});
