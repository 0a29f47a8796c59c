import assert from "node:assert/strict";
import { test } from "node:test";
import { retryAfterS } from "../src/api";
import { LONGEST_WAIT_MS, waitBeforeTry } from "../src/live/backoff";
import { PICTURE_HEAD, readMessage, readPicture } from "../src/live/wire";

function message(version: number, kind: number): ArrayBuffer {
  const bytes = new ArrayBuffer(PICTURE_HEAD + 3);
  const view = new DataView(bytes);
  view.setUint8(0, version);
  view.setUint8(1, kind);
  view.setUint16(2, 900);
  view.setUint32(4, 0x80000001);
  view.setBigUint64(8, 1_772_366_400_123_456n);
  view.setUint16(16, 640);
  view.setUint16(18, 480);
  new Uint8Array(bytes).set([0xff, 0xd8, 0xff], PICTURE_HEAD);
  return bytes;
}

test("a picture's head is read as docs/formats/live-socket.md lays it down", () => {
  const picture = readPicture(message(1, 2));
  assert.ok(picture);
  const { jpeg, ...head } = picture;
  assert.deepEqual(head, { kind: "playback", slot: 900, serial: 0x80000001, at: 1_772_366_400_123.456, width: 640, height: 480 });
  assert.deepEqual([...jpeg], [0xff, 0xd8, 0xff]);
});

test("other versions, kinds and stumps are no pictures", () => {
  assert.equal(readPicture(message(2, 1)), null);
  assert.equal(readPicture(message(1, 3)), null);
  assert.equal(readPicture(new ArrayBuffer(PICTURE_HEAD)), null);
  assert.equal(readPicture(new ArrayBuffer(0)), null);
});

test("texts that are no message are skipped", () => {
  assert.deepEqual(readMessage('{"is":"paused","slot":1,"at":"x"}'), { is: "paused", slot: 1, at: "x" });
  for (const text of ["", "[1]", "null", "{", '{"do":"show"}']) assert.equal(readMessage(text), null, text);
});

test("waits double up to half a minute and are spread by a quarter", () => {
  assert.deepEqual([1, 2, 3, 4].map((n) => waitBeforeTry(n, 1)), [1000, 2000, 4000, 8000]);
  assert.equal(waitBeforeTry(50, 1), LONGEST_WAIT_MS);
  assert.equal(waitBeforeTry(50, 0), LONGEST_WAIT_MS * 0.75);
});

test("Retry-After is seconds or a date", () => {
  const now = Date.parse("2026-03-01T12:00:00Z");
  assert.equal(retryAfterS("12", now), 12);
  assert.equal(retryAfterS("Sun, 01 Mar 2026 12:00:30 GMT", now), 30);
  assert.equal(retryAfterS("Sun, 01 Mar 2026 11:00:00 GMT", now), 0);
  assert.equal(retryAfterS(null, now), null);
  assert.equal(retryAfterS("later", now), null);
});
