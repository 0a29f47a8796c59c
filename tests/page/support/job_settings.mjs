// How a made-up camera's jobs go, with the refusals of the station (src/archive/job_settings.cpp).
export const makeJobSettings = () => ({
  by_movement: false, still_every_s: 5, still_after_s: 600, expected_s: null, film_s: 30, end_after_s: 600, bed: null,
  tell: ["finished", "still", "knocked", "covered", "unsharp", "loose"], hours: [], keep_stills_h: 720, stop: { receiver: 0, signs: [], hold_s: 60 },
});

const between = (value, least, most) => typeof value === "number" && value >= least && value <= most;
const named = (value, words) => Array.isArray(value) && value.every((one) => words.includes(one));
const only = (value, keys) => typeof value === "object" && value !== null && Object.keys(value).sort().join() === [...keys].sort().join();

const bedFits = (bed) =>
  bed === null ||
  (only(bed, ["x", "y", "w", "h"]) && between(bed.x, 0, 1) && between(bed.y, 0, 1) && between(bed.w, 0.02, 1) && between(bed.h, 0.02, 1) && bed.x + bed.w <= 1.0001 && bed.y + bed.h <= 1.0001);
const hoursFit = (hours) =>
  Array.isArray(hours) && hours.length <= 50 &&
  hours.every((one) => only(one, ["days", "from_min", "length_min"]) && between(one.days, 1, 127) && between(one.from_min, 0, 1439) && between(one.length_min, 1, 10_080));
const stopFits = (stop) =>
  only(stop, ["receiver", "signs", "hold_s"]) && between(stop.receiver, 0, 1e15) && named(stop.signs, ["still", "loose", "covered", "knocked"]) && between(stop.hold_s, 10, 3600);

const FITS = {
  by_movement: (value) => typeof value === "boolean",
  still_every_s: (value) => between(value, 1, 600),
  still_after_s: (value) => between(value, 60, 86_400),
  end_after_s: (value) => between(value, 60, 86_400),
  expected_s: (value) => value === null || between(value, 60, 2_678_400),
  film_s: (value) => value === null || between(value, 1, 3600),
  keep_stills_h: (value) => between(value, 1, 87_600),
  tell: (value) => named(value, ["finished", "still", "knocked", "covered", "unsharp", "loose"]),
  bed: bedFits,
  hours: hoursFit,
  stop: stopFits,
};

// The settings with the change; or the name of the member for which the station refuses all of it.
export function changedSettings(now, change) {
  if (change === null || typeof change !== "object" || Array.isArray(change)) return { refused: "the body" };
  for (const [key, value] of Object.entries(change)) {
    if (!FITS[key]?.(value)) return { refused: key };
  }
  return { settings: { ...now, ...change } };
}
