// What the fake station finds on its network.
const found = (name, number, more) => ({
  key: `hw:00:00:5e:00:53:${number}`,
  name,
  host: `${name}.local`,
  types: ["_http._tcp"],
  addresses: [`192.0.2.${number}`],
  ports: [80],
  hardware_address: `00:00:5e:00:53:${number}`,
  maker_part: "00:00:5e",
  locally_administered: false,
  txt: {},
  answers: null,
  camera: null,
  name_twice: false,
  suggested_name: name,
  words: { answers: "not asked", camera: "new", maker: "00:00:5e" },
  ...more,
});

const answers = (kind, still, stream, detail = null) => ({ kind, still_address: still, stream_address: stream, detail });

export function makeFound() {
  return {
    settled: true,
    sweeping: false,
    sweep_text: "knocks at 253 addresses (192.0.2.0/24 on wlan0) on TCP port 80, or 8080 where that is refused, at most 100 a second; about 4 s",
    found: [
      found("anvil", 20, { camera: { name: "anvil", sureness: "sure", by: "its hardware address", moved: false }, words: { answers: "not asked: known", camera: "anvil", maker: "00:00:5e" } }),
      found("bobbin", 31, { camera: { name: "bobbin", sureness: "sure", by: "its hardware address", moved: true }, words: { answers: "not asked: known", camera: "bobbin, moved here", maker: "00:00:5e" } }),
      found("lathe", 41, {
        addresses: ["192.0.2.41", "2001:db8::41"],
        answers: answers("camera", "http://192.0.2.41:80/still", "http://192.0.2.41:81/stream"),
        words: { answers: "still, stream", camera: "new", maker: "00:00:5e" },
      }),
      found("bench with a name that is as long as names of services on networks may", 42, {
        suggested_name: "bench",
        name_twice: true,
        answers: answers("camera", "http://192.0.2.42:80/still", null),
        words: { answers: "still", camera: "new", maker: "00:00:5e" },
      }),
      found("counter display", 43, { answers: answers("no-camera", null, null, "there is nothing at this path"), words: { answers: "no picture", camera: "-", maker: "00:00:5e" } }),
    ],
  };
}
