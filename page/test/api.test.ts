// What the station says to programs is not what a person at the page is told to do.
import assert from "node:assert/strict";
import { test } from "node:test";
import { Problem, remedyForPeople } from "../src/api";

test("a remedy that is a call of the API becomes one for a person; any other stays", () => {
  assert.match(remedyForPeople("GET /api/v1/jobs lists those there are.", 404), /go back to the list/);
  assert.match(remedyForPeople("Correct it; GET /api/v1/openapi.json describes what is taken.", 422), /load the page anew/);
  assert.equal(remedyForPeople("End it first.", 409), "End it first.");
  assert.equal(new Problem({ remedy: "GET /api/v1/events lists those there are." }, 404).remedy.includes("/api/"), false);
});
