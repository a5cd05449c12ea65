import type { ComponentChildren } from "preact";
import type { Counts, HeardCounts } from "../api";
import type { Loaded } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, type State, StateWord } from "../parts/State";
import { Flow } from "../works/Flow";

/** A subject page reads top to bottom: what it is, how it stands, why, what to do next. */
export function Subject(props: {
  what: ComponentChildren;
  name: ComponentChildren;
  state: State;
  stands: ComponentChildren;
  /** Its code, for what comes before and after it in the flow. */
  code?: string;
  children: ComponentChildren;
}) {
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <p class="what">{props.what}</p>
        <h1>
          <Shape state={props.state} /> {props.name}
        </h1>
        <p class="counts">{props.stands}</p>
      </header>
      {props.code && <Flow code={props.code} />}
      {props.children}
    </main>
  );
}

export function Loading({ data, what }: { data: Loaded<unknown>; what: string }) {
  return (
    <main id="main" tabIndex={-1} class="desk">
      {data.error ? <Problem error={data.error} again={data.again} /> : <Waiting what={what} />}
    </main>
  );
}

export const place_words: Record<keyof Counts, string> = {
  pressed: "pressed",
  edge_finished: "edge finished",
  in_sample: "in sample",
  good_stock: "good stock",
  suspect: "suspect",
  packed: "packed",
  shipped: "shipped",
  scrap: "scrap",
  unaccounted: "unaccounted",
};

export const place_states: Partial<Record<keyof Counts, State>> = {
  good_stock: "good",
  suspect: "suspect",
  packed: "good",
  shipped: "shipped",
  scrap: "scrap",
  unaccounted: "out",
};

export function worst_of(counts: Counts, heard?: HeardCounts): State {
  if (counts.unaccounted !== 0 || (heard?.bad ?? 0) > 0) return "out";
  if (counts.suspect > 0) return "suspect";
  return (heard?.good ?? 0) > 0 || counts.good_stock + counts.packed + counts.shipped > 0 ? "good" : "unknown";
}

export function Ledger({ counts }: { counts: Counts }) {
  const places = (Object.keys(place_words) as (keyof Counts)[]).filter((place) => counts[place] !== 0);
  return (
    <ul class="ledger">
      {places.map((place) => (
        <li key={place}>
          <StateWord state={place_states[place] ?? "unknown"} words={place_words[place]} />{" "}
          <b>{counts[place].toLocaleString("en-GB")}</b>
        </li>
      ))}
      {places.length === 0 && <li class="quiet">No disc has been pressed.</li>}
    </ul>
  );
}

export const heard_words = (heard: HeardCounts) =>
  `${heard.good} heard good, ${heard.bad} bad, ${heard.waiting} waiting`;
