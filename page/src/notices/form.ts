// Receivers and rules as text in a form, checked and turned into what the API takes. Pure.
import type { Cause, Receiver, ReceiverKind, Rule } from "../types";

export interface ReceiverForm {
  name: string;
  kind: ReceiverKind;
  address: string;
  host: string;
  port: string; // empty: the usual one
  tls: boolean; // mqtt
  security: "starttls" | "tls" | "none"; // mail
  prefix: string;
  user: string;
  from: string;
  to: string; // with commas between
  ca_file: string;
  secret: string; // the webhook's secret, or a password
}

export const EMPTY_RECEIVER: ReceiverForm = {
  name: "",
  kind: "webhook",
  address: "",
  host: "",
  port: "",
  tls: false,
  security: "starttls",
  prefix: "rookery",
  user: "",
  from: "",
  to: "",
  ca_file: "",
  secret: "",
};

const textOf = (value: unknown): string => (typeof value === "string" || typeof value === "number" ? String(value) : "");

// What is known of a receiver; its secret never comes back from the station.
export function formOfReceiver(receiver: Receiver): ReceiverForm {
  const way = receiver.way;
  const security = way.security === "tls" || way.security === "none" ? way.security : "starttls";
  return {
    name: receiver.name,
    kind: receiver.kind,
    address: textOf(way.address),
    host: textOf(way.host),
    port: textOf(way.port),
    tls: way.tls === true,
    security,
    prefix: textOf(way.prefix),
    user: textOf(way.user),
    from: textOf(way.from),
    to: Array.isArray(way.to) ? way.to.join(", ") : "",
    ca_file: textOf(way.ca_file),
    secret: "",
  };
}

export type ReceiverFaults = Partial<Record<keyof ReceiverForm, string>>;

const addressesOf = (text: string): string[] => text.split(/[\s,;]+/).filter((one) => one !== "");

// hasSecret: the station has one, which stays where none is given.
export function receiverFaults(form: ReceiverForm, hasSecret = false): ReceiverFaults {
  const faults: ReceiverFaults = {};
  if (form.name.trim() === "") faults.name = "A receiver needs a name.";
  if (form.kind === "webhook") {
    if (!/^https?:\/\/[^\s/]+/i.test(form.address.trim())) faults.address = "An address begins with https:// or http://, for example https://hall.example/notices";
    if (form.secret.length < 16 && !(hasSecret && form.secret === "")) faults.secret = "At least 16 characters; the other side needs the same.";
    return faults;
  }
  if (form.host.trim() === "") faults.host = "Give a host name or address.";
  if (form.port.trim() !== "" && !(Number(form.port) >= 1 && Number(form.port) <= 65_535)) faults.port = "From 1 to 65535.";
  if (form.kind !== "mail") return faults;
  if (!form.from.includes("@")) faults.from = "For example hall@example.org";
  const to = addressesOf(form.to);
  if (to.length === 0 || !to.every((one) => one.includes("@"))) faults.to = "One mail address or several, with commas between.";
  if (form.security === "none" && (form.secret !== "" || (hasSecret && form.user.trim() !== ""))) faults.security = "A password would go over the network as it is.";
  return faults;
}

function wayOf(form: ReceiverForm): Record<string, unknown> {
  const ca = { ca_file: form.ca_file.trim() };
  if (form.kind === "webhook") return { address: form.address.trim(), ...ca };
  const port = form.port.trim() === "" ? {} : { port: Number(form.port) };
  const host = { host: form.host.trim(), user: form.user.trim(), ...port, ...ca };
  if (form.kind === "mqtt") return { ...host, tls: form.tls, prefix: form.prefix.trim() };
  const usual = form.security === "tls" && form.port.trim() === "" ? { port: 465 } : {};
  return { ...host, ...usual, security: form.security, from: form.from.trim(), to: addressesOf(form.to) };
}

export function receiverBody(form: ReceiverForm): Record<string, unknown> {
  return { name: form.name.trim(), kind: form.kind, way: wayOf(form), secret: form.secret };
}

// Of one that is there already: the secret stays unless another is given, and goes where nobody signs in any more.
export function receiverChange(form: ReceiverForm): Record<string, unknown> {
  const { secret, ...rest } = receiverBody(form);
  const stays = form.secret === "" && (form.kind === "webhook" || form.user.trim() !== "");
  return stays ? rest : { ...rest, secret };
}

export const DAYS = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

export interface RuleForm {
  name: string;
  receivers: number[];
  cameras: string[] | null;
  causes: Cause[];
  leastPercent: string;
  days: string[];
  from: string;
  until: string;
  quietMinutes: string;
  at_end: boolean;
}

export const EMPTY_RULE: RuleForm = {
  name: "",
  receivers: [],
  cameras: null,
  causes: ["motion", "view", "job"],
  leastPercent: "",
  days: DAYS,
  from: "00:00",
  until: "24:00",
  quietMinutes: "5",
  at_end: false,
};

export function formOfRule(rule: Rule): RuleForm {
  return {
    name: rule.name,
    receivers: rule.receivers,
    cameras: rule.cameras,
    causes: rule.causes,
    leastPercent: rule.least_peak === 0 ? "" : String(Number((rule.least_peak * 100).toFixed(3))),
    days: rule.days,
    from: rule.from,
    until: rule.until,
    quietMinutes: String(rule.quiet_s / 60),
    at_end: rule.at_end,
  };
}

export type RuleFaults = Partial<Record<keyof RuleForm, string>>;

export function ruleFaults(form: RuleForm): RuleFaults {
  const faults: RuleFaults = {};
  if (form.name.trim() === "") faults.name = "A rule needs a name.";
  if (form.receivers.length === 0) faults.receivers = "Choose who gets the notices.";
  if (form.causes.length === 0) faults.causes = "Choose at least one.";
  if (form.days.length === 0) faults.days = "Choose at least one day.";
  if (!/^([01]\d|2[0-3]):[0-5]\d$/.test(form.from)) faults.from = "From 00:00 to 23:59.";
  if (!/^(([01]\d|2[0-3]):[0-5]\d|24:00)$/.test(form.until) || form.until === form.from) faults.until = "Another time, up to 24:00.";
  const percent = Number(form.leastPercent);
  if (form.leastPercent.trim() !== "" && !(percent >= 0 && percent <= 100)) faults.leastPercent = "From 0 to 100 %, or nothing.";
  const minutes = Number(form.quietMinutes);
  if (form.quietMinutes.trim() === "" || !(minutes >= 0 && minutes <= 7 * 1440)) faults.quietMinutes = "From 0 min to 10080 min (7 days).";
  return faults;
}

export function ruleBody(form: RuleForm): Record<string, unknown> {
  return {
    name: form.name.trim(),
    receivers: form.receivers,
    cameras: form.cameras,
    causes: form.causes,
    least_peak: Number(form.leastPercent) / 100,
    days: form.days,
    from: form.from,
    until: form.until,
    quiet_s: Math.round(Number(form.quietMinutes) * 60),
    at_end: form.at_end,
  };
}

// Where a receiver's notices go, in a few words.
export function whereText(receiver: Receiver): string {
  const way = receiver.way;
  if (receiver.kind === "webhook") return String(way.address);
  const host = `${String(way.host)}:${String(way.port)}`;
  if (receiver.kind === "mqtt") return `${host}, topics ${String(way.prefix)}/…`;
  return `${(way.to as string[]).join(", ")} by ${host}`;
}

// When a rule holds, in a few words.
export function hoursText(rule: Pick<Rule, "days" | "from" | "until">): string {
  const short = (day: string): string => day.charAt(0).toUpperCase() + day.slice(1, 3);
  const days = rule.days.length === 7 ? "every day" : rule.days.map(short).join(" ");
  const always = rule.from === "00:00" && rule.until === "24:00";
  return always ? days : `${days} ${rule.from}–${rule.until}`;
}

// Some moments until which one may want quiet: from now.
export function snoozeChoices(now: number): { label: string; until: number }[] {
  const morning = new Date(now);
  morning.setHours(7, 0, 0, 0);
  if (morning.getTime() - now < 3_600_000) morning.setDate(morning.getDate() + 1);
  return [
    { label: "for 1 h", until: now + 3_600_000 },
    { label: "for 8 h", until: now + 8 * 3_600_000 },
    { label: "until 07:00", until: morning.getTime() },
  ];
}
