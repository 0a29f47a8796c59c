// What another program gets from an address with a token: asked without this page's own sign-in.

export interface StillReading {
  status: number;
  type: string;
  bytes: number;
  took_ms: number;
  picture: Blob | null;
}

export interface StreamReading {
  status: number;
  type: string;
  pictures: number;
  bytes: number;
  took_ms: number;
}

export async function readStill(address: string, signal: AbortSignal): Promise<StillReading> {
  const began = performance.now();
  const answer = await fetch(address, { credentials: "omit", cache: "no-store", signal });
  const picture = await answer.blob();
  return {
    status: answer.status,
    type: answer.headers.get("Content-Type") ?? "",
    bytes: picture.size,
    took_ms: performance.now() - began,
    picture: answer.ok ? picture : null,
  };
}

// How often the start of a JPEG (FF D8 FF) stands in a stream's bytes; pieces may be cut anywhere.
export class StartCounter {
  count = 0;
  private matched = 0;

  take(piece: Uint8Array): void {
    for (const byte of piece) {
      if (byte === 0xff) {
        if (this.matched === 2) {
          this.count += 1;
          this.matched = 1;
        } else {
          this.matched = 1;
        }
      } else {
        this.matched = byte === 0xd8 && this.matched === 1 ? 2 : 0;
      }
    }
  }
}

// Reads for so long, or until the signal.
export async function readStream(address: string, for_ms: number, signal: AbortSignal): Promise<StreamReading> {
  const began = performance.now();
  const stop = new AbortController();
  signal.addEventListener("abort", () => stop.abort(), { once: true });
  const answer = await fetch(address, { credentials: "omit", cache: "no-store", signal: stop.signal });
  const reading: StreamReading = { status: answer.status, type: answer.headers.get("Content-Type") ?? "", pictures: 0, bytes: 0, took_ms: 0 };
  const reader = answer.body?.getReader();
  if (!answer.ok || !reader) return reading;
  const starts = new StartCounter();
  const end = setTimeout(() => stop.abort(), for_ms);
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      starts.take(value);
      reading.bytes += value.length;
    }
  } catch (error) {
    if (signal.aborted || !stop.signal.aborted) throw error;
  } finally {
    clearTimeout(end);
  }
  reading.pictures = starts.count;
  reading.took_ms = performance.now() - began;
  return reading;
}

// The address without what must not be kept, and how a shell asks for it: the token stands in a header, so that no
// server and no history of addresses keeps it.
export function curlLines(still: string, stream: string, token: string): string {
  const bare = (address: string): string => {
    const url = new URL(address);
    url.searchParams.delete("token");
    return url.href;
  };
  const header = `-H "Authorization: Bearer ${token}"`;
  return [`curl ${header} -o still.jpg ${bare(still)}`, `curl ${header} -o stream.mjpeg --max-time 10 ${bare(stream)}`].join("\n");
}

// What a machine's software calls when its job begins, goes on and ends.
export function hookLines(hook: string, token: string): string {
  const header = `-H "Authorization: Bearer ${token}"`;
  return [
    `curl ${header} -X POST "${hook}?what=started&label=bracket"`,
    `curl ${header} -X POST "${hook}?what=step&note=layer%20100"`,
    `curl ${header} -X POST "${hook}?what=finished"`,
    `curl ${header} -X POST "${hook}?what=failed"`,
  ].join("\n");
}
