import assert from "node:assert/strict";
import { test } from "node:test";
import { curlLines, StartCounter } from "../src/handover/reading";

const JPEG = [0xff, 0xd8, 0xff, 0xe0, 0x00, 0xff, 0xd9];

test("pictures of a stream are counted, however its bytes are cut", () => {
  const bytes = Uint8Array.from([...JPEG, 13, 10, ...JPEG, 0xff, ...JPEG]);
  for (let at = 0; at <= bytes.length; at += 1) {
    const starts = new StartCounter();
    starts.take(bytes.subarray(0, at));
    starts.take(bytes.subarray(at));
    assert.equal(starts.count, 3, `cut at ${at}`);
  }
});

test("FF FF D8 FF is a start, FF D8 alone is none", () => {
  const starts = new StartCounter();
  starts.take(Uint8Array.from([0xff, 0xff, 0xd8, 0xff, 0xd8, 0x00, 0xd8, 0xff]));
  assert.equal(starts.count, 1);
});

test("what is typed into a shell carries the token in a header, not in the address", () => {
  const lines = curlLines("https://hall:7420/live/anvil.jpg?token=abc", "https://hall:7420/live/anvil.mjpeg?width=320&token=abc", "abc");
  assert.match(lines, /curl -H "Authorization: Bearer abc" -o still\.jpg https:\/\/hall:7420\/live\/anvil\.jpg$/m);
  assert.match(lines, /https:\/\/hall:7420\/live\/anvil\.mjpeg\?width=320$/m);
  assert.equal(lines.includes("token="), false);
});
