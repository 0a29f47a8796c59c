// The socket of docs/formats/live-socket.md: pictures at 10 frames/s with one unacknowledged picture a slot, playback with
// gaps, status once a second.
import { spansOf } from "./strips.mjs";

const TICK_MS = 100;
const DAY = 86_400_000;

function pictureMessage(kind, slot, serial, at, frame) {
  const head = Buffer.alloc(20);
  head.writeUInt8(1, 0);
  head.writeUInt8(kind, 1);
  head.writeUInt16BE(slot, 2);
  head.writeUInt32BE(serial, 4);
  head.writeBigUInt64BE(BigInt(Math.round(at)) * 1000n, 8);
  head.writeUInt16BE(frame.width, 16);
  head.writeUInt16BE(frame.height, 18);
  return Buffer.concat([head, frame.jpeg]);
}

class Page {
  constructor(world, ws) {
    this.world = world;
    this.ws = ws;
    this.serial = 0;
    this.shown = [];
    this.pending = new Map(); // serial → slot
    this.plays = new Map();
  }

  say(message) {
    this.ws.send(JSON.stringify(message));
  }

  picture(kind, slot, camera, at) {
    if ([...this.pending.values()].includes(slot) || this.pending.size >= 32) return false;
    this.serial += 1;
    this.pending.set(this.serial, slot);
    this.ws.send(pictureMessage(kind, slot, this.serial, at, this.world.frameAt(camera, at)));
    return true;
  }

  take(message) {
    const play = this.plays.get(message.slot);
    if (message.do === "show") {
      // The station's own bound: what it refuses is refused here.
      const wide = message.cameras.find(({ width_px }) => !(width_px >= 0 && width_px <= 16_384));
      const problem = { title: "A value is not allowed", detail: `show: width_px is ${wide?.width_px}`, remedy: "Give 0 to 16384.", status: 422, code: "invalid-value" };
      if (wide) return this.say({ is: "problem", problem });
      this.shown = message.cameras;
    }
    if (message.do === "ack") this.acknowledge(message.serial);
    else if (message.do === "play") this.play(message);
    else if (message.do === "stop") this.plays.delete(message.slot);
    else if (message.do === "pause" && play) {
      play.paused = true;
      play.at = play.sent ?? play.at; // where it stands is what is seen, not what would have come next
      this.say({ is: "paused", slot: message.slot, at: new Date(play.at).toISOString() });
    } else if (message.do === "step" && play) {
      play.at = (play.paused ? play.at : (play.sent ?? play.at)) + message.frames * TICK_MS;
      play.paused = true;
      // The picture before may be unacknowledged still: then this one is owed until it is.
      play.owed = !this.picture(2, message.slot, play.camera, play.at);
      this.say({ is: "paused", slot: message.slot, at: new Date(play.at).toISOString() });
    }
  }

  acknowledge(serial) {
    const slot = this.pending.get(serial);
    this.pending.delete(serial);
    const play = this.plays.get(slot);
    if (play?.owed) play.owed = !this.picture(2, slot, play.camera, play.at);
  }

  play(message) {
    const at = Date.parse(message.at);
    if (at < this.world.began - DAY) {
      const problem = { title: "Not recorded", detail: "Nothing of that day is recorded.", remedy: "Choose a day on which the strip has an ink line.", status: 404, code: "not-found" };
      return this.say({ is: "problem", slot: message.slot, problem });
    }
    this.plays.set(message.slot, { camera: message.camera, at, speed: message.speed, paused: false, wait: 0 });
    this.say({ is: "playing", slot: message.slot, at: message.at, speed: message.speed });
  }

  // In a gap: says so and waits half a second, then goes on behind it.
  crossGap(slot, play) {
    const now = Date.now();
    const spans = spansOf(play.at - DAY, play.at + DAY, this.world.began, now);
    if (spans.some((span) => play.at >= span.from && play.at <= span.to)) return true;
    const next = play.speed > 0 ? spans.find((span) => span.from > play.at) : spans.filter((span) => span.to < play.at).at(-1);
    const target = next && (play.speed > 0 ? next.from : next.to);
    if (target === undefined) {
      this.plays.delete(slot);
      this.say({ is: "end", slot, at: new Date(play.at).toISOString(), reason: play.speed > 0 ? "end" : "start" });
      return false;
    }
    const [from, to] = [Math.min(play.at, target), Math.max(play.at, target)];
    this.say({ is: "gap", slot, from: new Date(from).toISOString(), to: new Date(to).toISOString() });
    play.at = target;
    play.wait = 5;
    return false;
  }

  // As the station: names when they are others than before, and a place whose camera is gone is let go of.
  status() {
    const names = this.world.cameras.map((camera) => camera.name);
    const told = JSON.stringify(names);
    this.say({ is: "status", ...(told === this.told ? {} : { names }), cameras: liveStatuses(this.world) });
    this.told = told;
  }

  // What `show` said of a camera holds for that camera, not for a later one of the same name.
  lose(camera) {
    for (const { slot } of this.shown.filter((one) => one.camera === camera)) {
      const problem = { title: "Not found", detail: `There is no camera "${camera}".`, remedy: "Look at the sheet.", status: 404, code: "not-found" };
      this.say({ is: "problem", slot, problem });
    }
    this.shown = this.shown.filter((one) => one.camera !== camera);
  }

  tick() {
    const now = Date.now();
    for (const { camera, slot } of this.shown) {
      const status = this.world.cameras.find((one) => one.name === camera)?.status;
      if (status?.state === "live" || status?.state === "asleep") this.picture(1, slot, camera, now);
    }
    for (const [slot, play] of this.plays) {
      if (play.paused) continue;
      if (play.wait > 0) {
        play.wait -= 1;
        continue;
      }
      if (!this.crossGap(slot, play)) continue;
      if (!this.picture(2, slot, play.camera, play.at)) continue;
      play.sent = play.at;
      play.at += play.speed * TICK_MS;
    }
  }
}

function liveStatuses(world) {
  const now = new Date().toISOString();
  for (const { status } of world.cameras) {
    if (status.state !== "live") continue;
    status.last_frame_at = now;
    for (const key of ["received", "published"]) status.counters[key] += 10;
    for (const key of ["taken", "written"]) status.recorder[key] += 10;
    status.frames_per_s = Math.max(0, status.frames_per_s + Math.sin(Date.now() / 3000 + status.viewers) * 0.05);
  }
  return world.cameras.map((camera) => camera.status);
}

export function openSocket(world, ws) {
  const page = new Page(world, ws);
  page.say({ is: "hello", version: "0.1.0", now: new Date().toISOString() });
  page.status();
  ws.on("message", (data) => page.take(JSON.parse(String(data))));
  const pictures = setInterval(() => page.tick(), TICK_MS);
  const status = setInterval(() => page.status(), 1000);
  world.pages.add(page);
  ws.on("close", () => {
    world.pages.delete(page);
    clearInterval(pictures);
    clearInterval(status);
  });
}
