import assert from "node:assert/strict";
import { test } from "node:test";
import { DAYS, EMPTY_RECEIVER, EMPTY_RULE, formOfReceiver, formOfRule, hoursText, receiverBody, receiverChange, receiverFaults, ruleBody, ruleFaults, snoozeChoices, whereText } from "../src/notices/form";
import type { Receiver, Rule } from "../src/types";

test("a webhook needs an address and a secret that is long enough", () => {
  assert.deepEqual(Object.keys(receiverFaults(EMPTY_RECEIVER)).sort(), ["address", "name", "secret"]);
  const good = { ...EMPTY_RECEIVER, name: "hook", address: "https://hall.example/x", secret: "0123456789abcdef" };
  assert.deepEqual(receiverFaults(good), {});
  assert.deepEqual(receiverBody(good), { name: "hook", kind: "webhook", way: { address: "https://hall.example/x", ca_file: "" }, secret: "0123456789abcdef" });
});

test("mail takes several addresses, and the port that goes with its security", () => {
  const mail = { ...EMPTY_RECEIVER, name: "mail", kind: "mail" as const, host: "mail.example", from: "hall@example.org", to: "a@example.org, b@example.org" };
  assert.deepEqual(receiverFaults(mail), {});
  assert.deepEqual((receiverBody(mail).way as { to: string[] }).to, ["a@example.org", "b@example.org"]);
  assert.equal("port" in (receiverBody(mail).way as object), false);
  assert.equal((receiverBody({ ...mail, security: "tls" }).way as { port: number }).port, 465);
  assert.ok(receiverFaults({ ...mail, to: "a" }).to);
  assert.ok(receiverFaults({ ...mail, security: "none", secret: "x" }).security);
  assert.ok(receiverFaults({ ...mail, port: "70000" }).port);
});

test("a broker needs a host only", () => {
  const broker = { ...EMPTY_RECEIVER, name: "b", kind: "mqtt" as const, host: "192.0.2.5" };
  assert.deepEqual(receiverFaults(broker), {});
  assert.deepEqual(receiverBody(broker).way, { host: "192.0.2.5", user: "", ca_file: "", tls: false, prefix: "rookery" });
});

test("a rule says what is missing", () => {
  assert.deepEqual(Object.keys(ruleFaults(EMPTY_RULE)).sort(), ["name", "receivers"]);
  const good = { ...EMPTY_RULE, name: "nights", receivers: [1] };
  assert.deepEqual(ruleFaults(good), {});
  for (const [key, value] of [["from", "24:00"], ["until", "00:00"], ["until", "6:00"], ["days", []], ["causes", []], ["leastPercent", "101"], ["quietMinutes", ""]] as const) {
    assert.ok(key in ruleFaults({ ...good, [key]: value }), `${key} ${String(value)}`);
  }
});

test("a rule read into the form and sent back is the same", () => {
  const rule: Rule = { id: 3, name: "nights", enabled: true, receivers: [1], cameras: ["cog"], causes: ["view"], least_peak: 0.015, days: ["friday"], from: "22:00", until: "06:00", quiet_s: 90, at_end: true, snoozed_until: null, last_sent: null, last_silent: null };
  const { id, enabled, snoozed_until, last_sent, last_silent, ...rest } = rule;
  assert.deepEqual(ruleBody(formOfRule(rule)), rest);
});

test("hours and places are told in few words", () => {
  assert.equal(hoursText({ days: DAYS, from: "00:00", until: "24:00" }), "every day");
  assert.equal(hoursText({ days: ["friday", "saturday"], from: "22:00", until: "06:00" }), "Fri Sat 22:00–06:00");
  const receiver = (kind: Receiver["kind"], way: Record<string, unknown>): Receiver => ({ kind, way }) as Receiver;
  assert.equal(whereText(receiver("mqtt", { host: "h", port: 1883, prefix: "hall" })), "h:1883, topics hall/…");
  assert.equal(whereText(receiver("mail", { host: "h", port: 587, to: ["a@b.c", "d@e.f"] })), "a@b.c, d@e.f by h:587");
});

test("quiet until the morning is until the next one that is an hour away", () => {
  const at = (hour: number): number => new Date(2026, 2, 1, hour, 30).getTime();
  for (const hour of [1, 5, 6, 12, 23]) {
    const until = new Date(snoozeChoices(at(hour)).at(-1)?.until ?? 0);
    assert.equal(until.getHours(), 7);
    assert.equal(until.getDate(), hour < 6 ? 1 : 2);
  }
});

const SEEN: Omit<Receiver, "kind" | "way"> = { id: 4, name: "marta", enabled: true, has_secret: true, waiting: 0, oldest_waiting: null, delivered: 0, given_up: 0, dropped: 0, failing_since: null, last_error: null, last_delivered: null };

test("a receiver's form gives back what the station told of it, and no secret", () => {
  const mail: Receiver = { ...SEEN, kind: "mail", way: { host: "mail.example", port: 587, security: "starttls", user: "hall", from: "hall@example.org", to: ["marta@example.org", "ines@example.org"], ca_file: "" } };
  const form = formOfReceiver(mail);
  assert.deepEqual(receiverFaults(form, true), {});
  assert.deepEqual(receiverChange(form), { name: SEEN.name, kind: "mail", way: mail.way });
  assert.equal(receiverChange({ ...form, user: "" }).secret, "");
  assert.equal(receiverChange({ ...form, secret: "another" }).secret, "another");
  const hook = formOfReceiver({ ...SEEN, kind: "webhook", way: { address: "https://hall.example/", ca_file: "" } });
  assert.equal(receiverFaults(hook, true).secret, undefined);
  assert.ok(receiverFaults(hook, false).secret);
  assert.ok(!("secret" in receiverChange(hook)));
});
