// Small things that views share: on-screen watch, size watch, the colour scheme, the page's title.
import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";

export function useOnScreen<T extends Element>(): [{ current: T | null }, boolean] {
  const ref = useRef<T | null>(null);
  const [shown, setShown] = useState(false);
  useEffect(() => {
    const element = ref.current;
    if (!element) return;
    const watch = new IntersectionObserver((entries) => setShown(entries.at(-1)?.isIntersecting ?? false), {
      rootMargin: "80px",
    });
    watch.observe(element);
    return () => watch.disconnect();
  }, []);
  return [ref, shown];
}

export function useWidth<T extends Element>(ref: { current: T | null }): number {
  const [width, setWidth] = useState(0);
  useEffect(() => {
    const element = ref.current;
    if (!element) return;
    const watch = new ResizeObserver((entries) => setWidth(Math.round(entries.at(-1)?.contentRect.width ?? 0)));
    watch.observe(element);
    return () => watch.disconnect();
  }, []);
  return width;
}

// Counts up when light turns to dark or back: canvases read their colours again.
export const scheme = signal(0);
window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
  scheme.value += 1;
});

export function useTitle(text: string): void {
  useEffect(() => {
    document.title = text === "" ? "Rookery" : `${text} · Rookery`;
  }, [text]);
}
