// What the station's API and socket send, as docs/api.md and docs/formats/live-socket.md lay down.

export type CameraState = "off" | "connecting" | "live" | "silent" | "waiting" | "asleep";
export type SourceKind = "stream" | "stills" | "pushed";

export type RecordKind = "always" | "events" | "never";
export type Cause = "motion" | "lighting" | "view" | "job";

// Something that happened in a camera's picture. Shares are of the picture, 0 to 1.
export interface EventInfo {
  id: number;
  camera: string;
  cause: Cause;
  start: string;
  end: string | null; // null while it lasts
  peak: number;
  region: { x: number; y: number; w: number; h: number };
  where: string;
  best_at: string;
  kept: boolean;
  still: boolean;
  detail: string; // of cause job: the sign
  job: number | null;
}

export interface EventsAnswer {
  events: EventInfo[];
  next: string | null;
}

export type DropoutCause = "supply" | "radio" | "hang" | "network" | "viewer" | "sensor" | "station";

// Times are RFC 3339. Causes: the likeliest first, probabilities 0 to 1.
export interface Dropout {
  camera: string;
  began: string;
  back: string | null; // null: not back when this was told
  length_s: number | null;
  cause: DropoutCause | null; // null: not enough to tell
  verdict: string;
  remedy: string;
  restarted: boolean;
  causes: { cause: DropoutCause; title: string; probability: number }[];
  unexplained: number;
  evidence: string[];
}

export interface DropoutsAnswer {
  summary: { days: number; dropouts: number; causes: Record<DropoutCause, number>; restarted: number; unclear: number; text: string };
  next: string | null; // `before` of the next, older ones
  dropouts: Dropout[];
}

// One entry a step; null where nothing was measured.
export interface VitalsAnswer {
  from: string;
  step_s: number;
  live: (number | null)[];
  frames_per_s: (number | null)[];
  bytes_a_frame: (number | null)[];
  longest_gap_s: (number | null)[];
  jitter_s: (number | null)[];
  broken: (number | null)[];
  connects: (number | null)[];
  dropouts: (number | null)[];
  light: (number | null)[];
}

export interface Counters {
  received: number;
  published: number;
  rejected: Record<string, number>;
  rejected_parts: number;
  bytes: number;
  connects: number;
  lost: number;
  dropouts: number;
}

export interface RecorderCounters {
  taken: number;
  written: number;
  lost: number;
  queued: number;
  bytes_written: number;
}

export interface Status {
  name: string;
  state: CameraState;
  since: string;
  retry_at: string | null;
  last_error: { code: string; text: string } | null;
  last_frame_at: string | null;
  frames_per_s: number;
  bytes_per_s: number;
  width_px: number;
  height_px: number;
  viewers: number;
  viewers_skipped: number;
  counters: Counters;
  recorder: RecorderCounters;
  event: EventInfo | null; // under way
  events_ended: number;
  pre_roll: { frames: number; bytes: number; most_bytes: number; seconds: number };
}

export interface Camera {
  name: string;
  title: string;
  source: SourceKind;
  stream_address?: string;
  still_address?: string;
  user?: string;
  has_password?: boolean;
  poll_every_ms: number;
  enabled: boolean;
  record: RecordKind;
  pre_roll_ms: number;
  post_roll_ms: number;
  sensitivity: number; // 1 coarse to 5 fine
  mask: string | null;
  keep_for_h: number | null;
  keep_bytes: number | null;
  status: Status;
}

export interface Me {
  name: string;
  role: "owner" | "viewer";
  cameras: string[] | null;
}

export interface StationFacts {
  version: string;
  started_at: string;
  now: string;
  archive: { bytes: number; free_bytes: number; keep_free_bytes: number; oldest: string | null; ages_count_by: string | null };
  exports: { bytes: number; most_bytes: number };
  catalog: { written: number; replaced: number; given_up: number; waiting: number };
  flushes: { late: number; longest_ms: number };
  viewers: number;
  troubles: Trouble[];
}

// What is wrong with the station as a whole; told to owners.
export interface Trouble {
  kind: "disk-full" | "disk-low" | "clock" | "moved" | "pause";
  detail: string;
  remedy: string;
}

export interface StripAnswer {
  from: string;
  step_s: number;
  energy: string;
  health: string;
}

export interface SpanAnswer {
  from: string;
  to: string;
}

export interface RecordingsAnswer {
  spans: SpanAnswer[];
  kept: SpanAnswer[];
  first: string | null;
  last: string | null;
}

// What a token opens, and nothing else.
export type TokenUse = "watch" | "push" | "report";

export interface TokenInfo {
  id: number | string;
  label: string;
  use: TokenUse;
  made_at: string;
  last_used_at: string | null;
}

export interface NewToken {
  id: number | string;
  token: string;
  live_jpg: string;
  live_mjpeg: string;
}

export type FilmFormat = "mp4" | "webm" | "webp";
export type ExportFormat = "matroska" | FilmFormat;

// What there is to know of a lapse that is done.
export interface LapseFacts {
  length_s: number;
  speed: number;
  pictures: number;
  damaged: number;
  empty: number;
  dark: number;
  steadied: number;
  limited: number;
  resized: number;
  earlier: number;
  gone: number;
  wanted: number;
  quieted: number;
  chosen: boolean;
  steady: boolean;
  remark: string;
  cuts: { film_s: number; why: string }[];
}

export interface ExportAnswer {
  id: string;
  camera: string;
  from: string;
  to: string;
  kind: "export" | "lapse";
  format: ExportFormat;
  state: "waiting" | "working" | "done" | "failed" | "cancelled";
  progress: number;
  bytes: number | null;
  frames: number | null;
  file_name: string;
  lapse: LapseFacts | null;
  problem: ProblemBody | null;
}

export interface Person {
  name: string;
  role: "owner" | "viewer";
  cameras: string[] | null;
}

export interface ProblemBody {
  type?: string;
  title?: string;
  status?: number;
  detail?: string;
  remedy?: string;
  code?: string;
  faults?: Fault[];
}

// One of several mistakes of a request.
export interface Fault {
  where: string;
  detail: string;
  remedy: string;
}

export type ReceiverKind = "webhook" | "mqtt" | "mail";

// Where notices go. `way` is as docs/notices.md says for each kind.
export interface Receiver {
  id: number;
  name: string;
  enabled: boolean;
  kind: ReceiverKind;
  way: Record<string, unknown>;
  has_secret: boolean;
  waiting: number;
  oldest_waiting: string | null;
  delivered: number;
  given_up: number;
  dropped: number;
  failing_since: string | null;
  last_error: string | null;
  last_delivered: string | null;
}

export interface Rule {
  id: number;
  name: string;
  enabled: boolean;
  receivers: number[];
  cameras: string[] | null; // null: all
  causes: Cause[];
  least_peak: number;
  days: string[];
  from: string;
  until: string;
  quiet_s: number;
  at_end: boolean;
  snoozed_until: string | null;
  last_sent: Judged | null; // since the station started
  last_silent: Judged | null;
}

// What a rule said of an event.
export interface Judged {
  at: string;
  camera: string;
  event: number;
  verdict: "send" | "off" | "cause" | "weak" | "hours" | "snoozed" | "quiet";
}

export interface Notice {
  id: number;
  receiver: number;
  rule: number | null;
  event: number | null;
  camera: string | null;
  what: "begun" | "ended" | "pause" | "test";
  made_at: string;
  state: "waiting" | "delivered" | "given-up" | "dropped";
  tries: number;
  next_try: string | null;
  done_at: string | null;
  answer: string;
}

// One thing on the network that may be a board. Text in it that others wrote is fit to be shown.
export interface Found {
  key: string;
  name: string | null;
  host: string | null;
  types: string[];
  addresses: string[];
  ports: number[];
  hardware_address: string | null;
  maker_part: string | null;
  locally_administered: boolean | null;
  txt: Record<string, string>;
  answers: {
    kind: "camera" | "wants-sign-in" | "no-camera" | "busy" | "silent";
    still_address: string | null;
    stream_address: string | null;
    detail: string | null;
  } | null;
  camera: { name: string; sureness: "sure" | "likely" | "weak"; by: string; moved: boolean } | null;
  name_twice: boolean;
  suggested_name: string;
  words: { answers: string; camera: string; maker: string };
}

export interface FoundAnswer {
  found: Found[];
  settled: boolean;
  sweeping: boolean;
  sweep_text: string;
}
