// The stand-in station's receivers, rules and notices.
const ago = (now, ms) => new Date(now - ms).toISOString();

export function makeNotices(now) {
  const counts = { waiting: 0, oldest_waiting: null, delivered: 212, given_up: 0, dropped: 0, failing_since: null, last_error: null, last_delivered: ago(now, 740_000) };
  return {
    receivers: [
      { id: 1, name: "hall-hook", enabled: true, kind: "webhook", way: { address: "https://hall.example/notices", ca_file: "" }, has_secret: true, ...counts },
      {
        id: 2,
        name: "broker",
        enabled: true,
        kind: "mqtt",
        way: { host: "192.0.2.5", port: 1883, tls: false, ca_file: "", user: "", prefix: "hall" },
        has_secret: false,
        ...counts,
        waiting: 3,
        oldest_waiting: ago(now, 3_900_000),
        given_up: 2,
        failing_since: ago(now, 4_000_000),
        last_error: "MQTT broker 192.0.2.5:1883: no connection within 10 s. Look whether the broker runs, at that host and port.",
      },
    ],
    rules: [
      {
        id: 1,
        name: "nights",
        enabled: true,
        receivers: [1, 2],
        cameras: ["back-door", "counter"],
        causes: ["motion", "view"],
        least_peak: 0.01,
        days: ["friday", "saturday"],
        from: "22:00",
        until: "06:00",
        quiet_s: 300,
        at_end: true,
        snoozed_until: null,
        last_sent: { at: ago(now, 3_900_000), camera: "back-door", event: 990, verdict: "send" },
        last_silent: { at: ago(now, 3_780_000), camera: "back-door", event: 991, verdict: "quiet" },
      },
    ],
    notices: [
      { id: 9, receiver: 2, rule: 1, event: 990, camera: "back-door", what: "begun", made_at: ago(now, 3_900_000), state: "waiting", tries: 7, next_try: ago(now, -60_000), done_at: null, answer: "no connection within 10 s" },
      { id: 8, receiver: 1, rule: 1, event: 990, camera: "back-door", what: "begun", made_at: ago(now, 3_900_000), state: "delivered", tries: 1, next_try: null, done_at: ago(now, 3_899_000), answer: "HTTP 204" },
    ],
    snooze: { until: null },
  };
}

// The answer to a call; undefined: nothing to say; null: no such thing.
export function noticesOf(world, call, id, act, body) {
  const [, head] = call.split(" ");
  if (head === "snooze") return call.startsWith("PUT") ? (world.snooze = { until: body.until }) : world.snooze;
  if (call === "GET notices") return { notices: world.notices, next: null };
  const list = world[head];
  if (call.startsWith("GET")) return head === "receivers" ? { receivers: list, lost: 0 } : { rules: list };
  if (call.startsWith("POST") && id === undefined) {
    const { secret, ...shown } = body;
    const counts = { waiting: 0, oldest_waiting: null, delivered: 0, given_up: 0, dropped: 0, failing_since: null, last_error: null, last_delivered: null };
    const made = head === "receivers" ? { enabled: true, ...shown, has_secret: Boolean(secret), ...counts } : { enabled: true, snoozed_until: null, last_sent: null, last_silent: null, ...shown };
    list.push({ ...made, id: Math.max(0, ...list.map((one) => one.id)) + 1 });
    return list.at(-1);
  }
  const found = list.find((one) => String(one.id) === id);
  if (!found) return null;
  if (call.startsWith("DELETE")) return void (world[head] = list.filter((one) => one !== found));
  if (act === "test") {
    world.notices.unshift({ ...world.notices[0], id: 100 + world.notices.length, receiver: found.id, what: "test", camera: null, state: "delivered", answer: "HTTP 204", tries: 1, made_at: new Date().toISOString() });
    return found;
  }
  const { secret, ...shown } = body;
  return Object.assign(found, shown, secret === undefined || head !== "receivers" ? {} : { has_secret: secret !== "" });
}
