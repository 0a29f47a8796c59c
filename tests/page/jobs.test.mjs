// Jobs in a browser, against the stand-in station.
import assert from "node:assert/strict";
import { test } from "node:test";
import { overflow, seriousFindings, signIn, until } from "./support/checks.mjs";
import { assertDescribed, assertRefused, watchSent } from "./support/job_calls.mjs";
import { asIda, context, reopen, said, skip, station, tab, text } from "./support/stand_in.mjs";

const openJobs = async () => {
  await asIda();
  await tab.click("nav >> text=Jobs");
  await tab.waitForSelector('[data-job="2"]');
};

test("the stand-in refuses what the station refuses, and answers as it is described", { skip }, async () => {
  await asIda();
  const which = { busy: "anvil", free: "cog", under: 2, over: 1 };
  await assertRefused(context, station.address, which);
  await assertDescribed(context, station.address, which);
});

test("a job under way shows its state, both pictures and what to look at", { skip }, async () => {
  await openJobs();
  const card = await text('[data-job="2"]');
  assert.match(card, /bracket/);
  assert.match(card, /at rest for/);
  assert.match(card, /nothing moves though it should/);
  assert.match(card, /of about 3 h/);
  assert.equal(await tab.$$eval('[data-job="2"] .job-pictures img', (images) => images.length), 2);
  await tab.click('[data-job="2"] >> text=what was told of it');
  await tab.waitForSelector("text=not sure, have a look");
  assert.deepEqual(said, []);
});

test("a job is begun, ended and judged", { skip }, async () => {
  await openJobs();
  await tab.fill("label:text-is('What is made') + input", "gear");
  await tab.fill("label:text-is('Takes about, hours') + input", "1,5");
  await tab.click("button:text-is('begin a job')");
  await until(tab, async () => station.world.jobs.some((job) => job.label === "gear" && job.expected_s === 5400), "it did not begin");
  const id = station.world.jobs.find((job) => job.label === "gear").id;
  await tab.waitForSelector(`[data-job="${id}"]`);
  await tab.click(`[data-job="${id}"] >> text=end it`);
  await tab.click(`[data-job="${id}"] >> text=failed`);
  await tab.click(`[data-job="${id}"] >> button:text-is('end the job')`);
  await until(tab, async () => station.world.jobs.find((job) => job.id === id).ending === "failed", "it did not end");
  await tab.click(".job-log > li:has-text('gear') >> button:text-is('more')");
  await tab.click(`[data-job="${id}"] >> label:has-text('bad')`);
  await until(tab, async () => station.world.jobs.find((job) => job.id === id).good === false, "it was not judged");
});

test("a length that cannot be is told, and nothing begins", { skip }, async () => {
  await openJobs();
  const many = station.world.jobs.length;
  await tab.fill("label:text-is('Takes about, hours') + input", "0.001");
  await tab.click("button:text-is('begin a job')");
  await tab.waitForSelector(".jobs .fault >> text=From 0.017");
  assert.equal(station.world.jobs.length, many);
});

test("a past job offers its film, and makes it anew", { skip }, async () => {
  await openJobs();
  await tab.click(".job-log > li:has-text('vase') >> button:text-is('more')");
  assert.match(await tab.getAttribute('[data-job="1"] a[download]', "href"), /\/api\/v1\/jobs\/1\/film/);
  await tab.click('[data-job="1"] >> text=make its lapse anew');
  await tab.waitForSelector("text=Its lapse is being made");
});

test("a token that tells of jobs comes with lines to copy", { skip }, async () => {
  await asIda();
  await tab.click('.row >> text=anvil');
  await tab.waitForSelector("text=Access tokens");
  await tab.fill("label:text-is('Who or what it is for') + input", "the printer");
  await tab.click("label:has-text('tell of jobs')");
  await tab.click("button:text-is('make a token')");
  await tab.waitForSelector("text=/hooks\\/anvil\\?what=finished/");
});

for (const [width, scheme] of [
  [1280, "light"],
  [360, "dark"],
]) {
  test(`jobs have no serious findings at ${width} px, ${scheme}`, { skip }, async () => {
    await reopen({ width, scheme });
    await openJobs();
    assert.deepEqual(await seriousFindings(tab), []);
    assert.equal(await overflow(tab), 0);
  });
}

const field = (label) => `label:text-is("${label}") + input`;
const openSettings = async (camera) => {
  await asIda();
  await tab.goto(`${station.address}#/camera/${camera}`);
  await tab.click("text=how jobs go here");
  await tab.waitForSelector("text=save how jobs go");
};

test("a job has an address of its own: its steps, what grew over its picture, its name and length", { skip }, async () => {
  await openJobs();
  await tab.click('[data-job="2"] >> text=bracket');
  await tab.waitForSelector("h1:text-is('bracket')");
  assert.match(tab.url(), /#\/jobs\/2$/);
  assert.match(await text('[data-job="2"]'), /1\.0\s%\san hour/);
  assert.equal(await tab.$$eval(".job-steps .event-region", (marks) => marks.length), 2);
  await tab.check("text=show in amber what changed");
  await tab.waitForSelector(".job-growth");
  // Amber where it grew, clear where it did not.
  const seen = await tab.$eval(".job-growth", (canvas) => [[16, 14], [1, 1]].map(([x, y]) => [...canvas.getContext("2d").getImageData(x, y, 1, 1).data]));
  assert.ok(seen[0][3] > 100 && seen[1][3] === 0, JSON.stringify(seen));
  await tab.click("summary:text-is('name and length')");
  await tab.fill(field("Name of the job"), "bracket, left");
  await tab.fill(field("It takes about, hours"), "4");
  await tab.click("text=change the job");
  await tab.waitForSelector("h1:text-is('bracket, left')");
  assert.equal(station.world.jobs.find((job) => job.id === 2).expected_s, 14_400);
  await tab.fill(field("It takes about, hours"), "a while");
  await tab.click("text=change the job");
  await tab.waitForSelector("text=Hours, for example 3.5, or nothing.");
  await tab.click("text=a file of it so far");
  await tab.click("text=Lapse, a short film");
  await tab.click("text=make the lapse");
  await until(tab, async () => station.world.exports.size === 1, "no lapse was asked for");
  const [film] = station.world.exports.values();
  assert.deepEqual([film.kind, film.camera, film.from], ["lapse", "anvil", station.world.jobs.find((job) => job.id === 2).start]);
  assert.deepEqual(said, []);
});

test("a job's page asks for the steps that it does not know, and shows them beside the others", { skip }, async () => {
  await asIda();
  const asked = [];
  tab.on("request", (request) => {
    const url = new URL(request.url());
    if (url.pathname.endsWith("/api/v1/jobs/2") && request.method() === "GET") asked.push(url.search);
  });
  await tab.goto(`${station.address}#/jobs/2`);
  await until(tab, async () => (await tab.locator(".job-steps > li").count()) === 2, "its steps did not come");
  assert.equal(asked[0], "");
  station.world.steps[2] = [{ at: Date.now(), what: "step", words: "layer 100" }];
  await until(tab, async () => (await tab.locator(".job-steps > li").count()) === 3, "the new step did not come");
  assert.deepEqual([...new Set(asked.slice(1))], ["?steps_after=2"]);
  assert.match(await text(".job-steps"), /the job began.*nothing moves.*layer 100/s);
  // The catalog is lost, and another job has the number.
  delete station.world.steps[2];
  station.world.jobs.find((job) => job.id === 2).start = new Date(Date.now() - 60_000).toISOString();
  await until(tab, async () => (await tab.locator(".job-steps > li").count()) === 2, "old steps stay");
  assert.deepEqual(said, []);
});

test("a job that is forgotten leaves its page, and one that there is not is told", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/jobs/1`);
  await tab.click("text=forget this job …");
  await tab.click("button:text-is('forget it')");
  await tab.waitForSelector("h1:text-is('Jobs')");
  assert.ok(!station.world.jobs.some((job) => job.id === 1));
  await tab.goto(`${station.address}#/jobs/1`);
  await tab.waitForSelector(".problem >> text=There is no job 1");
  assert.ok(!(await text(".problem")).includes("/api/"), "a person is not told to call the API");
});

test("whoever ends a job that ended meanwhile is told so", { skip }, async () => {
  await openJobs();
  await tab.click(`[data-job="2"] >> summary:text-is('end it')`);
  // The list does not hear of it meanwhile.
  await tab.route("**/api/v1/jobs?under_way=true*", (route) => route.abort());
  station.world.jobs.find((job) => job.id === 2).end = new Date().toISOString();
  await tab.click(`[data-job="2"] >> button:text-is('end the job')`);
  await tab.waitForSelector('[data-job="2"] >> text=It is over already');
});

test("with a job on every camera the page says why none can be begun", { skip }, async () => {
  station.world.cameras.splice(1);
  await openJobs();
  await tab.waitForSelector("text=Every camera has a job under way");
});

test("the log of jobs goes on on request", { skip }, async () => {
  await openJobs();
  assert.equal(await tab.locator(".job-log > li").count(), 20);
  await tab.click("text=earlier ones");
  await until(tab, async () => (await tab.locator(".job-log > li").count()) === 25, "the rest did not come");
  assert.equal(await tab.locator("text=earlier ones").count(), 0);
});

test("a job is begun on its camera's own page", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/cog`);
  await tab.fill(`#job ${field("What is made")}`, "lid");
  await tab.click("#job >> text=begin a job");
  await tab.waitForSelector("#job a:text-is('lid')");
  assert.equal(station.world.jobs[0].camera, "cog");
});

test("an event of a job links to it", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/events`);
  await tab.click('[data-event="1001"] >> text=nothing moves though it should');
  await tab.waitForSelector("h1:text-is('bracket')");
});

test("how jobs go is set: begin, hours, lengths, what is told", { skip }, async () => {
  await openSettings("cog");
  await tab.check("text=when the machine moves after a rest");
  await tab.fill(field("Usual length of a job, h"), "2,5");
  await tab.fill(field("Length of the lapse, s"), "");
  await tab.click("text=add hours");
  await tab.uncheck(".job-hour >> text=sun");
  await tab.fill(`.job-hour ${field("From")}`, "25:00");
  await tab.uncheck(".job-settings >> text=the camera is out of focus");
  await tab.click("text=save how jobs go");
  await tab.waitForSelector("text=From 00:00 to 23:59.");
  assert.equal(station.world.jobSettings.cog.by_movement, false, "nothing is sent while there is a fault");
  await tab.fill(`.job-hour ${field("From")}`, "7:30");
  await tab.click("text=save how jobs go");
  await tab.waitForSelector("text=How jobs go here is saved.");
  const set = station.world.jobSettings.cog;
  assert.deepEqual([set.by_movement, set.expected_s, set.film_s, set.still_after_s], [true, 9000, null, 600]);
  assert.deepEqual(set.hours, [{ days: 63, from_min: 450, length_min: 600 }]);
  assert.ok(!set.tell.includes("unsharp") && set.tell.includes("still"));
  assert.deepEqual(said, []);
});

test("where the machine works is drawn with the pointer, moved with numbers, and given back", { skip }, async () => {
  await openSettings("cog");
  await tab.click("text=as drawn here");
  const place = tab.locator("canvas[data-bed]");
  await place.scrollIntoViewIfNeeded();
  const box = await place.boundingBox();
  const at = (x, y) => [box.x + x * box.width, box.y + y * box.height];
  await tab.mouse.move(...at(0.75, 0.8));
  await tab.mouse.down();
  await tab.mouse.move(...at(0.5, 0.5), { steps: 4 });
  await tab.mouse.move(...at(0.25, 0.3), { steps: 4 });
  await tab.mouse.up();
  const left = Number(await tab.inputValue(field("Left, %")));
  assert.ok(Math.abs(left - 25) < 1, `left is ${left}`);
  await tab.fill(field("Height, %"), "99");
  await tab.click("text=save how jobs go");
  await tab.waitForSelector("text=It reaches beyond the picture");
  await tab.fill(field("Height, %"), "40");
  await tab.click("text=save how jobs go");
  await until(tab, async () => station.world.jobSettings.cog.bed !== null, "no bed was set");
  const { w, h } = station.world.jobSettings.cog.bed;
  assert.ok(Math.abs(w - 0.5) < 0.02 && h === 0.4, `${w} ${h}`);
  await tab.click("text=the station finds it");
  await tab.click("text=save how jobs go");
  await until(tab, async () => station.world.jobSettings.cog.bed === null, "the bed was not given back");
});

test("a pause is asked for only after somebody switched it on and chose who and when; the caution always stands there", { skip }, async () => {
  await openSettings("cog");
  assert.match(await text(".job-settings"), /A camera is no safety device/);
  assert.equal(await tab.isChecked("text=ask the machine's software to pause"), false);
  await tab.check("text=ask the machine's software to pause");
  await tab.click("text=save how jobs go");
  await tab.waitForSelector("text=Choose who is asked.");
  await tab.waitForSelector("text=Choose at least one, or switch it off.");
  assert.equal(station.world.jobSettings.cog.stop.receiver, 0);
  await tab.selectOption("label:text-is('Who is asked') + select", "1");
  await tab.locator("fieldset", { has: tab.locator("legend:text-is('When')") }).locator("text=the camera is covered").click();
  await tab.click("text=save how jobs go");
  await until(tab, async () => station.world.jobSettings.cog.stop.receiver === 1, "nobody is asked");
  assert.deepEqual(station.world.jobSettings.cog.stop, { receiver: 1, signs: ["covered"], hold_s: 60 });
  await tab.uncheck("text=ask the machine's software to pause");
  await tab.click("text=save how jobs go");
  await until(tab, async () => station.world.jobSettings.cog.stop.receiver === 0, "somebody is still asked");
});

test("who was to be asked for a pause and was removed is named, and another has to be chosen", { skip }, async () => {
  station.world.jobSettings.cog.stop = { receiver: 4711, signs: ["still"], hold_s: 60 };
  await openSettings("cog");
  await tab.waitForSelector("text=Who was to be asked is no receiver any more. Choose another.");
  await tab.selectOption("label:text-is('Who is asked') + select", "1");
  await tab.click("text=save how jobs go");
  await until(tab, async () => station.world.jobSettings.cog.stop.receiver === 1, "nobody else is asked");
});

test("a viewer sees jobs of their cameras and changes nothing", { skip }, async () => {
  station.world.jobs.push({ ...station.world.jobs[1], id: 77, camera: "counter", label: "till" });
  await signIn(tab, station.address, "per", "counter-top");
  await tab.waitForSelector(".row");
  await tab.click("nav >> text=Jobs");
  await tab.click(".job-log >> text=till");
  await tab.waitForSelector("h1:text-is('till')");
  for (const what of ["forget this job …", "name and length", "make its lapse anew", "Was it good?"]) assert.equal(await tab.locator(`text=${what}`).count(), 0, what);
  await tab.goto(`${station.address}#/jobs/2`);
  await tab.waitForSelector("text=there is no job");
  await tab.goto(`${station.address}#/camera/counter`);
  await tab.waitForSelector("#job >> text=None is under way.");
  assert.equal(await tab.locator("text=how jobs go here").count(), 0);
});

for (const [width, scheme] of [
  [1280, "dark"],
  [360, "light"],
]) {
  test(`one job and its settings have no serious findings at ${width} px, ${scheme}`, { skip }, async () => {
    await reopen({ width, scheme });
    await asIda();
    await tab.goto(`${station.address}#/jobs/2`);
    await tab.waitForSelector(".job-steps .event-region");
    await tab.check("text=show in amber what changed");
    await tab.click("summary:text-is('name and length')");
    await tab.click("text=a file of it so far");
    assert.deepEqual(await seriousFindings(tab), []);
    assert.equal(await overflow(tab), 0);
    await tab.goto(`${station.address}#/camera/cog`);
    await tab.click("text=how jobs go here");
    await tab.click("text=add hours");
    await tab.click("text=as drawn here");
    await tab.check("text=ask the machine's software to pause");
    await tab.waitForSelector("canvas[data-bed]");
    assert.deepEqual(await seriousFindings(tab), []);
    assert.equal(await overflow(tab), 0);
    if (process.env.SHOTS) await tab.locator("#job").screenshot({ path: `${process.env.SHOTS}/settings-${width}-${scheme}.png` });
  });
}
