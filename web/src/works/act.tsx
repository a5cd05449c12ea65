import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { api } from "../api";
import { tell_changed } from "../live";
import { Shape } from "../parts/State";
import { type Entered, written } from "./api";
import "./works.css";

/** A refusal as somebody at a station reads it: the mend that names a command or its option is left to the desk. */
export function without_commands(text: string): string {
  const clauses = text.split("; ");
  const kept = clauses.filter((one) => !/`|(^|\s)--\w/.test(one));
  if (kept.length > 0 && !/`|(^|\s)--\w/.test(clauses[0] ?? "")) return kept.join("; ");
  return text.replace(/--(\w+)( "…")?,?/g, "the $1,").replace(/`[^`]*`/g, "the command");
}

/** One write at a time, told in words: what was entered, or why not. */
export interface Act {
  busy: boolean;
  said: string;
  problem: string | null;
  /** The newest entry of this view, for the button that takes it back. */
  entry: number | null;
  /** Sends it; null where it was refused. */
  send: <T extends Entered>(path: string, body: unknown, words: (made: T) => string) => Promise<T | null>;
  undo: (entry?: number) => Promise<boolean>;
  refuse: (reason: string) => void;
  clear: () => void;
}

export function use_act(): Act {
  const [busy, set_busy] = useState(false);
  const [told, set_told] = useState<{ said: string; problem: string | null }>({ said: "", problem: null });
  const [entry, set_entry] = useState<number | null>(null);
  const send = async <T extends Entered>(path: string, body: unknown, words: (made: T) => string) => {
    set_busy(true);
    try {
      const made = await api.post<T>(path, body);
      set_entry(made.entry);
      set_told({ said: words(made), problem: null });
      tell_changed();
      return made;
    } catch (error) {
      set_told({ said: "", problem: without_commands(error instanceof Error ? error.message : String(error)) });
      return null;
    } finally {
      set_busy(false);
    }
  };
  const undo = async (which?: number) => {
    const wanted = which ?? entry;
    if (wanted === null) return false;
    const made = await send<Entered>(
      written.undo(wanted),
      { reason: "taken back at the station" },
      () => `Entry ${wanted} is taken back.`,
    );
    set_entry(null);
    return made !== null;
  };
  return {
    busy,
    said: told.said,
    problem: told.problem,
    entry,
    send,
    undo,
    refuse: (reason) => set_told({ said: "", problem: reason }),
    clear: () => set_told({ said: "", problem: null }),
  };
}

/** What came of the last touch; the refusal stands out, and is read out at once. */
export function Told({ act, undo = true }: { act: Act; undo?: boolean }) {
  return (
    <div class="told">
      <p role="status" class={act.said ? "said-good" : "said-nothing"}>
        {act.said && <Shape state="good" />} {act.said}
        {act.said && act.entry !== null && <span class="quiet"> Entry {act.entry}.</span>}
      </p>
      {act.problem && (
        <p class="problem refused" role="alert">
          <Shape state="out" /> {act.problem}
        </p>
      )}
      {undo && act.said && act.entry !== null && (
        <button type="button" disabled={act.busy} onClick={() => void act.undo()}>
          Take back entry {act.entry}
        </button>
      )}
    </div>
  );
}

/** The station's caution, where the act is. */
export function Caution({ text }: { text: string }) {
  return (
    <aside class="caution" aria-label="Caution">
      {text}
    </aside>
  );
}

/** A sheet of paper or a label: the PDF on one touch, the SVG for a label printer. */
export function Paper({ href, svg, children }: { href: string; svg?: string; children: ComponentChildren }) {
  return (
    <span class="sheet-link">
      <a class="touch" href={href} target="_blank" rel="noopener">
        {children}
      </a>
      {svg && (
        <a class="quiet" href={svg} target="_blank" rel="noopener">
          SVG
        </a>
      )}
    </span>
  );
}

/** Figures typed with a thumb: large keys, and the field itself for a keyboard. */
export function Keypad(props: { label: string; value: string; set: (value: string) => void; id: string }) {
  const { value, set } = props;
  return (
    <div class="keypad" role="group" aria-label={props.label}>
      <label for={props.id}>{props.label}</label>
      <input
        id={props.id}
        class="big-figure"
        inputMode="numeric"
        autocomplete="off"
        value={value}
        onInput={(event) => set(event.currentTarget.value.replace(/\D/g, "").slice(0, 9))}
      />
      <div class="keys-grid">
        {["1", "2", "3", "4", "5", "6", "7", "8", "9"].map((key) => (
          <button key={key} type="button" onClick={() => set((value + key).slice(0, 9))}>
            {key}
          </button>
        ))}
        <button type="button" onClick={() => set("")}>
          Clear
        </button>
        <button type="button" onClick={() => set((value + "0").slice(0, 9))}>
          0
        </button>
        <button type="button" aria-label="Take the last figure away" onClick={() => set(value.slice(0, -1))}>
          ⌫
        </button>
      </div>
    </div>
  );
}

/** A field with its name above it. */
export function Field({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    <label class="field">
      <span>{label}</span>
      {children}
    </label>
  );
}

/** 1 047, as people write it. */
export const figure = (n: number): string => n.toLocaleString("en-GB").replaceAll(",", "\u202f");

export const whole = (text: string): number | null => (/^\d+$/.test(text.trim()) ? Number(text.trim()) : null);
