// A camera's settings as text in a form: filled from a camera, checked, turned into what the API takes. Pure.
import type { Camera, RecordKind, SourceKind } from "../types";

export interface CameraForm {
  name: string;
  title: string;
  source: SourceKind;
  stream_address: string;
  still_address: string;
  user: string;
  password: string;
  poll_every_s: string;
  enabled: boolean;
  record: RecordKind;
  pre_roll_s: string;
  post_roll_s: string;
  sensitivity: string;
  keep_days: string;
  keep_gb: string;
}

export const EMPTY_FORM: CameraForm = {
  name: "",
  title: "",
  source: "stream",
  stream_address: "",
  still_address: "",
  user: "",
  password: "",
  poll_every_s: "1",
  enabled: true,
  record: "always",
  pre_roll_s: "5",
  post_roll_s: "10",
  sensitivity: "3",
  keep_days: "",
  keep_gb: "",
};

export function formOf(camera: Camera): CameraForm {
  return {
    name: camera.name,
    title: camera.title,
    source: camera.source,
    stream_address: camera.stream_address ?? "",
    still_address: camera.still_address ?? "",
    user: camera.user ?? "",
    password: "",
    poll_every_s: String(camera.poll_every_ms / 1000),
    enabled: camera.enabled,
    record: camera.record,
    pre_roll_s: String(camera.pre_roll_ms / 1000),
    post_roll_s: String(camera.post_roll_ms / 1000),
    sensitivity: String(camera.sensitivity),
    keep_days: camera.keep_for_h === null ? "" : String(camera.keep_for_h / 24),
    keep_gb: camera.keep_bytes === null ? "" : String(camera.keep_bytes / 1e9),
  };
}

const toMs = (seconds: string): number => Math.round(Number(seconds) * 1000);

// What the API takes. The password goes along when one was typed, and empty when there is no name any more: a password
// alone signs nobody in.
export function settingsOf(form: CameraForm): Record<string, unknown> {
  return {
    title: form.title.trim(),
    source: form.source,
    stream_address: form.source === "stream" ? form.stream_address.trim() : "",
    still_address: form.source === "pushed" ? "" : form.still_address.trim(),
    user: form.user,
    ...(form.password === "" && form.user !== "" ? {} : { password: form.password }),
    poll_every_ms: Math.round(Number(form.poll_every_s) * 1000),
    enabled: form.enabled,
    record: form.record,
    // Otherwise their fields are not shown, and whatever was left in them is not meant.
    ...(form.record === "events" ? { pre_roll_ms: toMs(form.pre_roll_s), post_roll_ms: toMs(form.post_roll_s) } : {}),
    sensitivity: Number(form.sensitivity),
    keep_for_h: form.keep_days.trim() === "" ? null : Math.round(Number(form.keep_days) * 24),
    keep_bytes: form.keep_gb.trim() === "" ? null : Math.round(Number(form.keep_gb) * 1e9),
  };
}

export type Faults = Partial<Record<keyof CameraForm, string>>;

function addressFault(text: string): string | undefined {
  if (/^https?:\/\/[^\s/]+/i.test(text)) {
    return /^https?:\/\/[^/]*@/i.test(text) ? "Leave name and password out of the address; they have fields of their own." : undefined;
  }
  return "An address begins with http:// or https://, for example http://192.168.1.40:81/stream";
}

const isPositive = (text: string): boolean => Number.isFinite(Number(text)) && Number(text) > 0;

const isWithin = (text: string, most: number): boolean => text.trim() !== "" && Number(text) >= 0 && Number(text) <= most;

// What is wrong before the station is asked, by field.
export function faultsOf(form: CameraForm): Faults {
  const faults: Faults = {};
  const put = (field: keyof CameraForm, fault: string | undefined): void => {
    if (fault) faults[field] = fault;
  };
  if (form.source === "stream") put("stream_address", addressFault(form.stream_address.trim()));
  const still = form.still_address.trim();
  if (form.source === "stills" || (form.source === "stream" && still !== "")) put("still_address", addressFault(still));
  const every = Number(form.poll_every_s);
  if (form.source === "stills" && !(every >= 0.1 && every <= 3600)) put("poll_every_s", "From 0.1 s to 3600 s.");
  if (form.record === "events") {
    if (!isWithin(form.pre_roll_s, 30)) put("pre_roll_s", "From 0 s to 30 s.");
    if (!isWithin(form.post_roll_s, 120)) put("post_roll_s", "From 0 s to 120 s.");
  }
  if (form.keep_days.trim() !== "" && !isPositive(form.keep_days)) put("keep_days", "A number of days above 0, or nothing.");
  if (form.keep_gb.trim() !== "" && !isPositive(form.keep_gb)) put("keep_gb", "A number of GB above 0, or nothing.");
  return faults;
}
