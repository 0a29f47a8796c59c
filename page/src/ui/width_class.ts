// Whether there is room for a desk's or a hand's worth of page.
import { signal } from "@preact/signals";

const query = window.matchMedia("(min-width: 760px)");
const wide = signal(query.matches);
query.addEventListener("change", () => (wide.value = query.matches));

export const useWidthClass = (): "wide" | "narrow" => (wide.value ? "wide" : "narrow");
