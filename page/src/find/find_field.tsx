// A field that narrows a list of cameras, for lists that do not fit on a screen.
import type { Signal } from "@preact/signals";

// Fewer cameras than this are found with the eye.
export const FIND_FROM = 9;

export function FindField({ text, label, id }: { text: Signal<string>; label: string; id: string }) {
  return (
    <div class="cell">
      <label class="cell-name" for={id}>
        {label}
      </label>
      <input
        id={id}
        class="find"
        type="search"
        autocomplete="off"
        spellcheck={false}
        placeholder="part of a name"
        value={text.value}
        onInput={(event) => (text.value = event.currentTarget.value)}
        onKeyDown={(event) => {
          if (event.key === "Escape") text.value = "";
        }}
      />
    </div>
  );
}
