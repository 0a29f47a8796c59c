// Dropouts as a station tells them, invented for the stand-in.
const causes = (...shares) => shares.map(([cause, title, probability]) => ({ cause, title, probability }));

export function dropoutsOf(n, now, before) {
  const at = (minutes) => new Date(now - minutes * 60_000).toISOString();
  const all = [
    {
      began: at(42), back: at(41.8), length_s: 12.4, cause: "radio", restarted: false, unexplained: 0.03,
      verdict: "radio (91 %): the way through the air to this board",
      remedy: "Move the board or the access point, or turn the antenna: 0 of 3 pings were answered for 9 s, then the same connection went on.",
      causes: causes(["radio", "radio", 0.91], ["network", "network", 0.05], ["supply", "supply", 0.01]),
      evidence: ["no picture for 12.4 s, 124 times the usual 0.1 s", "neither a ping nor a connection was answered, 3 times", "the old connection went on afterwards with 61 kB at once"],
    },
    {
      began: at(180), back: at(179.8), length_s: 9.1, cause: null, restarted: true, unexplained: 0.08,
      verdict: "the board restarted; not enough to tell why",
      remedy: "After three restarts the station can tell a weak supply from a hang; measure the 5 V at the board meanwhile.",
      causes: causes(["supply", "supply", 0.52], ["hang", "hang or heat", 0.36], ["radio", "radio", 0.04]),
      evidence: ["the old connection was reset 4.1 s after the gap began", "the board's clock stepped back to 3.2 s"],
    },
    ...[600, 900, 1300, 1500].map((minutes) => ({
      began: at(minutes), back: at(minutes - 0.1), length_s: 6, cause: null, restarted: false, unexplained: 0.7,
      verdict: "not enough to tell", remedy: "It was over before anything could be asked.", causes: causes(["radio", "radio", 0.3]), evidence: ["no picture for 6.0 s"],
    })),
  ].map((one) => ({ camera: `camera-${n}`, ...one }));
  const from = before ? all.findIndex((one) => one.began < before) : 0;
  return { all: from < 0 ? [] : all.slice(from), count: all.length };
}

export function dropoutsAnswer(n, now, limit, before) {
  const { all, count } = dropoutsOf(n, now, before);
  const dropouts = all.slice(0, limit);
  return {
    summary: { days: 30, dropouts: count, causes: { supply: 0, radio: 1, hang: 0, network: 0, viewer: 0, sensor: 0, station: 0 }, restarted: 1, unclear: 4, text: `In the last 30 days: ${count} dropouts, 1 radio, 1 restarted; 4 not told` },
    next: all.length > limit ? dropouts.at(-1).began : null,
    dropouts,
  };
}
