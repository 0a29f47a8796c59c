// Joins the playback state to the socket: sends its orders, draws the pictures that come.
import { signal } from "@preact/signals";
import type { FromStation } from "../live/wire";
import { live, stationNow } from "../store";
import { AT_LIVE, drew, heard, reconnected, wish, withSlot, type Next, type PlayerState, type Wish } from "./state";

export class Player {
  readonly state = signal<PlayerState>(AT_LIVE);
  width_px = 640;
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
        this.state.value = heard(this.state.value, message);
      },
      again: () => this.apply(reconnected(this.state.value)),
    });
  }

  wish(wanted: Wish): void {
    this.apply(wish(this.state.value, wanted, stationNow()));
  }

  end(): void {
    this.place.remove();
  }

  private apply(next: Next): void {
    this.state.value = next.state;
    for (const order of next.orders) live.send(withSlot(order, this.place.slot, this.camera, this.width_px));
  }
}
