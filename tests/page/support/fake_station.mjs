// A small stand-in for the station that keeps to docs/api.md and docs/formats/live-socket.md, so that the page can be
// tried against answers that a real station gives rarely: 429, a lost connection, gaps, problems.
//   node support/fake_station.mjs [PORT]   serves page/dist on loopback; sign in as "ida" / "saltmarsh"
import { createServer } from "node:http";
import { readFile } from "node:fs/promises";
import { dirname, extname, join, normalize } from "node:path";
import { fileURLToPath } from "node:url";
import { api } from "./fake_api.mjs";
import { openSocket } from "./fake_socket.mjs";
import { makeWorld } from "./fake_world.mjs";
import { WebSocketServer } from "ws";

const DIST = join(dirname(fileURLToPath(import.meta.url)), "..", "..", "..", "page", "dist");
const TYPES = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".svg": "image/svg+xml",
  ".woff2": "font/woff2",
  ".txt": "text/plain; charset=utf-8",
};
// As strict as the page promises to live with.
export const POLICY =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; media-src 'self'; font-src 'self'; connect-src 'self'; " +
  "base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

async function serveFile(path, response) {
  const name = path === "/" ? "index.html" : normalize(path.slice("/page/".length));
  if (name.startsWith("..")) return false;
  try {
    const bytes = await readFile(join(DIST, name));
    response.writeHead(200, { "Content-Type": TYPES[extname(name)] ?? "application/octet-stream", "Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff" });
    response.end(bytes);
    return true;
  } catch {
    return false;
  }
}

// A person's or a token's: a token opens one camera, and only one that may watch. A stream goes on until it is left.
function serveLive(world, request, response, url, camera, kind) {
  const shown = url.searchParams.get("token") ?? /^Bearer (.+)$/.exec(request.headers.authorization ?? "")?.[1];
  const token = world.tokens.find((one) => one.secret !== undefined && one.secret === shown);
  const person = world.personOf(request);
  const mayWatch = token ? token.camera === camera && token.use === "watch" : person && (person.cameras === null || person.cameras.includes(camera));
  if (!mayWatch) {
    response.writeHead(401, { "Content-Type": "application/problem+json" });
    return response.end(JSON.stringify({ title: "Not signed in", status: 401, code: "no-permission" }));
  }
  if (kind === "jpg") {
    response.writeHead(200, { "Content-Type": "image/jpeg" });
    return response.end(world.frameAt(camera, Date.now()).jpeg);
  }
  response.writeHead(200, { "Content-Type": "multipart/x-mixed-replace; boundary=frame" });
  const part = () => {
    const { jpeg } = world.frameAt(camera, Date.now());
    response.write(`--frame\r\nContent-Type: image/jpeg\r\nContent-Length: ${jpeg.length}\r\n\r\n`);
    response.write(jpeg);
    response.write("\r\n");
  };
  part();
  const timer = setInterval(part, 200);
  response.on("close", () => clearInterval(timer));
}

// options: see makeWorld. Returns {address, world, close()}.
export async function startFakeStation(options = {}) {
  const world = makeWorld(options);
  const sockets = new WebSocketServer({ noServer: true, handleProtocols: () => "rookery.v1" });
  const server = createServer(async (request, response) => {
    const url = new URL(request.url, "http://station");
    if (url.pathname === "/" || url.pathname.startsWith("/page/")) {
      if (await serveFile(url.pathname, response)) return;
    }
    const live = /^\/live\/([\w-]+)\.(jpg|mjpeg)$/.exec(url.pathname);
    if (live && world.indexOf(live[1]) >= 0) return serveLive(world, request, response, url, live[1], live[2]);
    await api(world, request, response, url);
  });
  server.on("upgrade", (request, socket, head) => {
    if (!world.personOf(request) || world.refuseSockets) {
      socket.end(`HTTP/1.1 ${world.refuseSockets ? 503 : 401} No\r\nConnection: close\r\n\r\n`);
      return;
    }
    sockets.handleUpgrade(request, socket, head, (ws) => openSocket(world, ws));
  });
  await new Promise((done) => server.listen(options.port ?? 0, "127.0.0.1", done));
  return {
    address: `http://127.0.0.1:${server.address().port}/`,
    world,
    dropSockets: () => sockets.clients.forEach((ws) => ws.terminate()),
    close: () => {
      sockets.clients.forEach((ws) => ws.terminate());
      server.closeAllConnections();
      return new Promise((done) => server.close(done));
    },
  };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const { address, world } = await startFakeStation({ port: Number(process.argv[2] ?? 8088) });
  console.log(`${address}#once=${world.onceCode}`);
}
