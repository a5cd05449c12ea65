// A scanner types like a keyboard, only faster: what it sends must never be taken for the single keys of a view.
import { useEffect, useRef } from "preact/hooks";
import { api, type Hit, path } from "../api";
import { home_of } from "../line/Line";
import { go } from "../router";

/** Keys that come faster one after the other are no hand's; common practice, no source. */
export const burst_ms = 60;
/** A single key waits so long for a second one, so that a page that is busy for a moment tears no scan. */
export const wait_ms = 150;
/** No code is shorter. */
const least_scan = 4;

/** Tells single keys from a scan: characters in a burst, ended by Enter. Instants are those of the events. */
export class KeyReader {
  private burst = "";
  private last_ms = -Infinity;
  private timer: ReturnType<typeof setTimeout> | undefined;
  constructor(
    private readonly on_key: (key: string) => void,
    private readonly on_scan: (text: string) => void,
  ) {}

  /** Whether the key is the reader's own. */
  take(key: string, at_ms: number): boolean {
    if (key.length === 1) {
      if (at_ms - this.last_ms > burst_ms) this.end();
      this.last_ms = at_ms;
      this.burst += key;
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.end(), wait_ms);
      return true;
    }
    if (key === "Enter" && this.burst.length >= least_scan) {
      const text = this.burst;
      this.stop();
      this.on_scan(text);
      return true;
    }
    if (key !== "Shift") this.stop();
    return false;
  }

  stop(): void {
    clearTimeout(this.timer);
    this.burst = "";
  }

  private end(): void {
    const [key, ...more] = this.burst;
    this.stop();
    if (key !== undefined && more.length === 0) this.on_key(key);
  }
}

interface Taker {
  key: (key: string) => void;
  /** Whether the scan was for this view. */
  scan: (text: string) => boolean;
}
let taker: Taker | null = null;

/** What this view does with a single key or a scan that goes to no field. */
export function use_scans(now: Taker): void {
  const newest = useRef(now);
  newest.current = now;
  useEffect(() => {
    const mine: Taker = { key: (key) => newest.current.key(key), scan: (text) => newest.current.scan(text) };
    taker = mine;
    return () => {
      if (taker === mine) taker = null;
    };
  }, []);
}

/** Anywhere on the page: a scan that no view wants opens what it names. */
export function begin_scans(): () => void {
  const reader = new KeyReader(
    (key) => taker?.key(key),
    (text) => {
      if (taker?.scan(text)) return;
      api.get<{ hits: Hit[] }>(path.search(text)).then(
        ({ hits: [hit] }) => hit && go(home_of(hit)),
        () => {}, // a scan of nothing opens nothing
      );
    },
  );
  const press = (event: KeyboardEvent) => {
    const on = event.target as HTMLElement | null;
    if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|SELECT|TEXTAREA)$/.test(on?.tagName ?? "")) return;
    // Enter at the end of a scan presses no button that has the focus; a space does.
    if (event.key !== " " && reader.take(event.key, event.timeStamp) && event.key === "Enter") event.preventDefault();
  };
  addEventListener("keydown", press);
  return () => {
    reader.stop();
    removeEventListener("keydown", press);
  };
}
