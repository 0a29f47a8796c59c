// Looks again every few seconds while the page can be seen.
import { useEffect, useRef } from "preact/hooks";

const EVERY_MS = 5000;

// `look` is the one of the last drawing. A look that fails is left to the next one; `of` begins anew.
export function useLooks(look: () => Promise<void>, of: unknown[], on = true): void {
  const latest = useRef(look);
  latest.current = look;
  useEffect(() => {
    if (!on) return;
    const timer = window.setInterval(() => {
      if (document.visibilityState === "visible") latest.current().catch(() => {});
    }, EVERY_MS);
    return () => window.clearInterval(timer);
  }, [...of, on]);
}
