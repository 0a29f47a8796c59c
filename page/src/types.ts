// What the station's API and socket send, as docs/api.md and docs/formats/live-socket.md lay down.

export type CameraState = "off" | "connecting" | "live" | "silent" | "waiting" | "asleep";
export type SourceKind = "stream" | "stills" | "pushed";

export interface Counters {
  received: number;
  published: number;
  rejected: Record<string, number>;
  rejected_parts: number;
  bytes: number;
  connects: number;
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
  counters: Counters;
  recorder: RecorderCounters;
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
  recording: boolean;
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
  archive: { bytes: number; free_bytes: number; keep_free_bytes: number; oldest: string | null };
  viewers: number;
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

export interface TokenInfo {
  id: number | string;
  label: string;
  may_push: boolean;
  made_at: string;
  last_used_at: string | null;
}

export interface NewToken {
  id: number | string;
  token: string;
  live_jpg: string;
  live_mjpeg: string;
}

export type ExportFormat = "matroska" | "mp4";

export interface ExportAnswer {
  id: string;
  camera: string;
  from: string;
  to: string;
  format: ExportFormat;
  state: "waiting" | "working" | "done" | "failed" | "cancelled";
  progress: number;
  bytes: number | null;
  frames: number | null;
  file_name: string;
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
}
