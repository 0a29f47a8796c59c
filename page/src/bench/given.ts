// What stands in the fields: what was typed, else the example of what must be given.
import type { Fault } from "../types";
import type { PlanField, PlanSubject } from "./types";
import type { Given } from "./sums";

export function startOf(field: PlanField): string {
  if (!field.must) return "";
  return field.choices?.[0]?.key ?? field.example ?? "";
}

// What is sent: an empty field is not given, and the station then says what it assumes.
export function toSend(subject: PlanSubject, typed: Given): Given {
  const out: Given = {};
  for (const field of subject.fields) {
    const text = typed[field.key] ?? startOf(field);
    if (text.trim() !== "") out[field.key] = text;
  }
  return out;
}

// Only what belongs to the subject: an address may say anything.
export function known(subject: PlanSubject, given: Given): Given {
  return Object.fromEntries(subject.fields.flatMap((field) => (given[field.key] === undefined ? [] : [[field.key, given[field.key]!]])));
}

// The mistake that belongs to a field: "wire: size".
export function faultOf(faults: Fault[], subject: string, key: string): string | null {
  const fault = faults.find((one) => one.where === `${subject}: ${key}`);
  if (!fault) return null;
  return fault.remedy ? `${fault.detail}; ${fault.remedy}` : fault.detail;
}
