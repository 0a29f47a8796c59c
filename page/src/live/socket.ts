// The one WebSocket of the page: every picture, live and played back, comes through here.
import { signal } from "@preact/signals";
import { waitBeforeTry } from "./backoff";
import { readMessage, readPicture, type FromStation, type Picture, type ToStation } from "./wire";

export type Link = { is: "closed" } | { is: "opening" } | { is: "open" } | { is: "lost"; retryAt: number };

// Draws a decoded picture; called once a picture, the bitmap is closed afterwards.
export type Draw = (bitmap: ImageBitmap, picture: Picture) => void;

interface Place {
  camera: string;
  width: number; // device pixels
  shown: boolean; // on screen
  lost: boolean; // the station has no such camera; asked for again when its status comes
  draw: Draw;
}

export interface PlayPlace {
  draw: Draw;
  tell: (message: FromStation) => void;
  again: () => void; // the connection is new: ask once more
}

const MAX_SLOT = 65_535;

export class LiveSocket {
  readonly link = signal<Link>({ is: "closed" });
  onMessage: (message: FromStation) => void = () => {};
  onRefused: () => Promise<boolean> = async () => true; // false: do not try again (signed out)

  private socket: WebSocket | null = null;
  private readonly places = new Map<number, Place>();
  private readonly players = new Map<number, PlayPlace>();
  private nextSlot = 1;
  private tries = 0;
  private retryTimer: number | undefined;
  private showTimer: number | undefined;
  private lastShown = "";
  private wanted = false;

  constructor() {
    document.addEventListener("visibilitychange", () => this.showSoon());
    window.addEventListener("online", () => this.tryNow());
  }

  open(): void {
    if (this.wanted) return;
    this.wanted = true;
    this.connect();
  }

  close(): void {
    this.wanted = false;
    window.clearTimeout(this.retryTimer);
    this.socket?.close(1000);
    this.socket = null;
    this.tries = 0;
    this.link.value = { is: "closed" };
  }

  // Ends a wait early: the person asked, or the network came back.
  tryNow(): void {
    if (!this.wanted || this.link.value.is !== "lost") return;
    window.clearTimeout(this.retryTimer);
    this.connect();
  }

  // A place for live pictures of `camera`. It shows nothing until setShown(true).
  addPlace(camera: string, draw: Draw): LivePlace {
    const slot = this.takeSlot();
    const place: Place = { camera, width: 0, shown: false, lost: false, draw };
    this.places.set(slot, place);
    return {
      set: (width, shown) => {
        if (place.width === width && place.shown === shown) return;
        place.width = width;
        place.shown = shown;
        this.showSoon();
      },
      remove: () => {
        this.places.delete(slot);
        this.showSoon();
      },
    };
  }

  // A place for playback: the player sends its own messages with this slot.
  addPlayer(player: PlayPlace): { slot: number; remove: () => void } {
    const slot = this.takeSlot();
    this.players.set(slot, player);
    return {
      slot,
      remove: () => {
        this.send({ do: "stop", slot });
        this.players.delete(slot);
      },
    };
  }

  send(message: ToStation): void {
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(message));
  }

  // Counts on and skips what is in use, so that a late picture never lands in another's place.
  private takeSlot(): number {
    do {
      this.nextSlot = this.nextSlot >= MAX_SLOT ? 1 : this.nextSlot + 1;
    } while (this.places.has(this.nextSlot) || this.players.has(this.nextSlot));
    return this.nextSlot;
  }

  private connect(): void {
    this.link.value = { is: "opening" };
    const address = new URL("/api/v1/socket", location.href);
    address.protocol = address.protocol === "https:" ? "wss:" : "ws:";
    address.hash = "";
    const socket = new WebSocket(address.href, "rookery.v1");
    socket.binaryType = "arraybuffer";
    this.socket = socket;
    let greeted = false;
    socket.onmessage = (event: MessageEvent<string | ArrayBuffer>) => {
      if (this.socket !== socket) return;
      if (typeof event.data !== "string") return void this.take(event.data, socket);
      const message = readMessage(event.data);
      if (!message) return;
      if (message.is === "hello") {
        greeted = true;
        this.welcome();
      }
      this.pass(message);
    };
    socket.onclose = () => {
      if (this.socket !== socket) return;
      this.socket = null;
      if (this.wanted) void this.lost(greeted);
    };
  }

  private welcome(): void {
    this.tries = 0;
    this.lastShown = "";
    for (const place of this.places.values()) place.lost = false;
    this.link.value = { is: "open" };
    this.showNow();
    for (const player of this.players.values()) player.again();
  }

  private async lost(greeted: boolean): Promise<void> {
    // A handshake that is refused tells a page nothing; the API says whether the sign-in has ended.
    if (!greeted && !(await this.onRefused())) return;
    if (!this.wanted || this.socket) return;
    this.tries += 1;
    const wait = waitBeforeTry(this.tries, Math.random());
    this.link.value = { is: "lost", retryAt: Date.now() + wait };
    this.retryTimer = window.setTimeout(() => this.connect(), wait);
  }

  private pass(message: FromStation): void {
    if ("slot" in message && message.slot !== undefined) {
      const player = this.players.get(message.slot);
      if (player) return player.tell(message);
      if (message.is === "problem") this.lose(message.slot);
    } else if (message.is === "problem") {
      // Of no place: the page has asked for what the station does not take, which is the page's mistake.
      console.error(`The station refused: ${message.problem.detail}`);
    }
    if (message.is === "status") this.find(new Set(message.cameras.map((status) => status.name)));
    this.onMessage(message);
  }

  // The camera of this place was removed: the slot shows nothing more, and is not asked for until a status tells that
  // there is a camera of that name again.
  private lose(slot: number): void {
    const place = this.places.get(slot);
    if (place) place.lost = true;
  }

  private find(cameras: Set<string>): void {
    for (const place of this.places.values()) {
      if (!place.lost || !cameras.has(place.camera)) continue;
      place.lost = false;
      this.lastShown = ""; // the list may be the same as before; the station has let go of the place all the same
      this.showSoon();
    }
  }

  // Decodes, draws, then acknowledges: the next picture comes when this one is on the screen. A picture that
  // nobody wants any more is acknowledged at once, or its slot would stay taken.
  private async take(data: ArrayBuffer, socket: WebSocket): Promise<void> {
    const picture = readPicture(data);
    if (!picture) return;
    try {
      if (this.drawerOf(picture)) {
        const bitmap = await createImageBitmap(new Blob([picture.jpeg as BlobPart], { type: "image/jpeg" }));
        this.drawerOf(picture)?.(bitmap, picture);
        bitmap.close();
      }
    } catch {
      // the browser could not decode it: skipped, the next one may be whole
    } finally {
      if (socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify({ do: "ack", serial: picture.serial }));
    }
  }

  private drawerOf(picture: Picture): Draw | undefined {
    if (picture.kind === "playback") return this.players.get(picture.slot)?.draw;
    return this.places.get(picture.slot)?.draw;
  }

  private showSoon(): void {
    window.clearTimeout(this.showTimer);
    this.showTimer = window.setTimeout(() => this.showNow(), 60);
  }

  private showNow(): void {
    const cameras = [];
    if (document.visibilityState === "visible") {
      for (const [slot, place] of this.places) {
        if (place.shown && place.width > 0 && !place.lost) cameras.push({ camera: place.camera, slot, width_px: place.width });
      }
    }
    const text = JSON.stringify(cameras);
    if (text === this.lastShown || this.socket?.readyState !== WebSocket.OPEN) return;
    this.lastShown = text;
    this.send({ do: "show", cameras });
  }
}

export interface LivePlace {
  set: (width_px: number, shown: boolean) => void;
  remove: () => void;
}
