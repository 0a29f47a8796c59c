// Which cameras of a long list are meant: by words of their title and name, or by whether a person should look there.
import type { Camera, CameraState } from "../types";
import { stateWords } from "../words";

// Lower case without marks, so that "cafe" finds "Café".
const plain = (text: string): string => text.normalize("NFD").replace(/\p{M}/gu, "").toLocaleLowerCase();

// True when every word of `text` stands somewhere in title or name, in any order. No words: true.
export function matches(camera: Pick<Camera, "name" | "title">, text: string): boolean {
  const where = plain(`${camera.title} ${camera.name}`);
  return plain(text)
    .split(/\s+/)
    .every((word) => where.includes(word));
}

export const needsLook = (state: CameraState | undefined): boolean => state !== undefined && stateWords(state).look;
