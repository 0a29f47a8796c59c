import assert from "node:assert/strict";
import { test } from "node:test";
import { dateTimeField, dayStart, lengthText, parseTime, readDateField, shiftDay, toRfc3339, zoneText } from "../src/time";

process.env.TZ = "Europe/Oslo";
const at = (text: string): number => Date.parse(text);

test("times of the station are read with their zone, other texts are not times", () => {
  assert.equal(parseTime("2026-03-01T12:00:00.250+01:00"), at("2026-03-01T11:00:00.250Z"));
  assert.equal(parseTime("soon"), null);
  assert.equal(parseTime(null), null);
  assert.equal(toRfc3339(0), "1970-01-01T00:00:00.000Z");
});

test("a day begins at local midnight and is as long as the calendar says", () => {
  const noon = at("2026-03-29T12:00:00+02:00"); // clocks go forward this night
  assert.equal(dayStart(noon), at("2026-03-29T00:00:00+01:00"));
  assert.equal(shiftDay(noon, 1) - dayStart(noon), 23 * 3_600_000);
  const autumn = at("2026-10-25T12:00:00+01:00");
  assert.equal(shiftDay(autumn, 1) - dayStart(autumn), 25 * 3_600_000);
  assert.equal(shiftDay(at("2026-03-01T10:00:00Z"), -1), at("2026-02-28T00:00:00+01:00"));
});

test("fields of a form are in the person's zone, there and back", () => {
  const moment = at("2026-07-04T09:05:07Z");
  assert.equal(dateTimeField(moment), "2026-07-04T11:05:07");
  assert.equal(readDateField("2026-07-04T11:05:07"), moment);
  assert.equal(readDateField("2026-07-04T11:05"), moment - 7_000);
  assert.equal(readDateField("2026-07-04"), dayStart(moment));
  assert.equal(readDateField("2026-13-04"), null);
  assert.equal(readDateField(""), null);
});

test("lengths are said in two units at most", () => {
  const said = [0, 12_400, 60_000, 185_000, 3_600_000, 7_800_000, 86_400_000, 100_000_000].map(lengthText);
  assert.deepEqual(said, ["0 s", "12 s", "1 min", "3 min 05 s", "1 h", "2 h 10 min", "1 d", "1 d 3 h"]);
});

test("the zone is named for its moment", () => {
  assert.notEqual(zoneText(at("2026-07-01T00:00:00Z")), zoneText(at("2026-01-01T00:00:00Z")));
});
