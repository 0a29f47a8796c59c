// Joins the playback state to the socket: sends its orders, draws the pictures that come.
import { signal } from "@preact/signals";
import type { FromStation } from "../live/wire";
import { live, stationNow } from "../store";
import { AT_LIVE, caughtUp, drew, heard, reconnected, wish, withSlot, type Next, type PlayerState, type Wish } from "./state";

export class Player {
  readonly state = signal<PlayerState>(AT_LIVE);
  width_px = 640;
  private hidden = false;
  private readonly place: { slot: number; remove: () => void };

  constructor(
    private readonly camera: string,
    draw: (bitmap: ImageBitmap) => void,
  ) {
    this.place = live.addPlayer({
      draw: (bitmap, picture) => {
        if (this.state.value.mode === "live") return;
        draw(bitmap);
        this.apply(drew(this.state.value, picture.at));
      },
      tell: (message: FromStation) => {
        if (this.hidden) return;
        if (caughtUp(this.state.value, message, stationNow())) return this.wish({ do: "live" });
        this.state.value = heard(this.state.value, message);
      },
      again: () => this.apply(reconnected(this.state.value)),
    });
    document.addEventListener("visibilitychange", this.onVisibility);
  }

  wish(wanted: Wish): void {
    this.apply(wish(this.state.value, wanted, stationNow()));
  }

  end(): void {
    document.removeEventListener("visibilitychange", this.onVisibility);
    this.place.remove();
  }

  // Nobody looks at a hidden tab: playback stands there and goes on when it is seen again.
  private readonly onVisibility = (): void => {
    const hidden = document.visibilityState === "hidden";
    if (hidden === this.hidden) return;
    this.hidden = hidden;
    if (this.state.value.mode !== "playing") return;
    if (hidden) live.send({ do: "pause", slot: this.place.slot });
    else this.apply(reconnected(this.state.value));
  };

  private apply(next: Next): void {
    this.state.value = next.state;
    for (const order of next.orders) live.send(withSlot(order, this.place.slot, this.camera, this.width_px));
  }
}
