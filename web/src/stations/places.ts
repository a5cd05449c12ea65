// Where each view stands on the line: what the row under the line across the top shows.
import type { StationName } from "../api";

export interface StationView {
  /** "works": of the whole line. */
  station: StationName | "works";
  words: string;
  path: string;
}

export const station_order: readonly StationName[] = ["metal", "compound", "press", "bench", "store", "dispatch"];

export const station_homes: Record<StationName | "works", string> = {
  works: "/",
  metal: "/station/metal",
  compound: "/station/compound",
  press: "/station/press",
  bench: "/bench",
  store: "/station/store",
  dispatch: "/station/dispatch",
};

export const views: readonly StationView[] = [
  { station: "works", words: "What waits", path: "/" },
  { station: "works", words: "Enter an order", path: "/enter-order" },
  { station: "works", words: "Plan and promise", path: "/calculate/plan" },
  { station: "works", words: "What orders take", path: "/calculate/need" },
  { station: "works", words: "Enter anything else", path: "/enter" },
  { station: "metal", words: "Families", path: "/station/metal" },
  { station: "metal", words: "Enter a part", path: "/enter/part" },
  { station: "metal", words: "Plate", path: "/calculate/plate" },
  { station: "metal", words: "Back", path: "/calculate/back" },
  { station: "metal", words: "Centre", path: "/calculate/centre" },
  { station: "compound", words: "What waits", path: "/station/compound" },
  { station: "compound", words: "Weigh up and mix", path: "/calculate/mix" },
  { station: "compound", words: "Biscuit", path: "/calculate/biscuit" },
  { station: "press", words: "Presses", path: "/station/press" },
  { station: "press", words: "Enter a run", path: "/enter/run" },
  { station: "press", words: "Press cycle", path: "/calculate/cycle" },
  { station: "bench", words: "Listen", path: "/bench" },
  { station: "bench", words: "Sampling", path: "/calculate/sampling" },
  { station: "bench", words: "Charts", path: "/calculate/chart" },
  { station: "store", words: "Inspection table", path: "/station/store" },
  { station: "store", words: "Ledger", path: "/ledger" },
  { station: "dispatch", words: "Pack and ship", path: "/station/dispatch" },
];

/** The station that an address belongs to, where a view of the table has it. */
export function station_of_path(path: string): StationName | "works" | null {
  return views.find((view) => view.path === path)?.station ?? null;
}
